"""An inspection asks what its check lists say, holds what failed, and is signed by a person."""

from decimal import Decimal

import pytest
from django.contrib.auth.models import Permission
from django.urls import reverse

from bom.kernel.errors import ProblemError
from production.dispatch import inspecting
from production.dispatch.inspecting import Finding
from production.dispatch.models import CheckLine, CheckList, CheckResult, Clearance, Inspection
from tests.production.dispatch.conftest import all_good
from tests.production.floor import assembled, operation

pytestmark = pytest.mark.django_db


def text(response) -> str:
    return response.content.decode()


def words(order) -> set[str]:
    return {line.words for line in inspecting.wanted_lines(order)}


def test_checks_follow_model_and_options(shop):
    order = shop.draft()
    other = CheckList.objects.create(name="Winch", condition="option.winch == 'electric'")
    CheckLine.objects.create(check_list=other, sequence=1, words="Cable sound")
    mine = CheckList.objects.create(name="This model", model=order.model)
    CheckLine.objects.create(
        check_list=mine, sequence=1, words="Long drawbar straight", condition="hull.length_mm > 4000"
    )
    CheckLine.objects.create(
        check_list=mine, sequence=2, words="For long hulls", condition="hull.length_mm > 9000"
    )

    asked = words(order)

    assert "Long drawbar straight" in asked
    assert not {"Cable sound", "For long hulls"} & asked
    assert "Cable sound" in words(shop.draft(choices={"winch": "electric"}))


def test_a_value_outside_its_limits_fails_and_the_limits_themselves_pass(shop):
    line = CheckLine(unit="N·m", low=Decimal(90), high=Decimal(110))
    assert [inspecting.passes(line, Decimal(value)) for value in ("89.99", "90", "110", "110.01")] == [
        False,
        True,
        True,
        False,
    ]


def test_nothing_is_signed_before_everything_was_looked_at(shop):
    order = assembled(shop)
    findings = all_good(order)
    findings.popitem()
    inspecting.record(order=order, findings=findings, by=shop.user)

    with pytest.raises(ProblemError, match="Not looked at: Papers in the folder"):
        inspecting.sign(order=order, by=shop.user)

    assert operation(order, "inspect").state == "begun"


def test_a_signature_is_a_person_and_a_time_and_ends_the_inspection(shop):
    order = assembled(shop)
    inspecting.record(order=order, findings=all_good(order), by=shop.user)

    signed = inspecting.sign(order=order, by=shop.user)
    again = inspecting.sign(order=order, by=shop.user)

    order.refresh_from_db()
    assert (order.state, signed.signed_by) == ("done", shop.user)
    assert signed.signed_at == again.signed_at
    with pytest.raises(ProblemError, match="is signed"):
        inspecting.record(order=order, findings=all_good(order), by=shop.user)


def test_a_failed_check_holds_until_it_is_cleared_with_a_reason_even_when_it_is_good_later(shop):
    order = assembled(shop)
    inspecting.record(order=order, findings=all_good(order, Wheel=Finding(value=Decimal(70))), by=shop.user)
    failed = CheckResult.objects.get(is_good=False)
    with pytest.raises(ProblemError, match="Failed: Wheel nuts"):
        inspecting.sign(order=order, by=shop.user)

    inspecting.record(order=order, findings={failed.line_id: Finding(value=Decimal(100))}, by=shop.user)
    with pytest.raises(ProblemError, match=r"70\.00 N·m measured"):
        inspecting.sign(order=order, by=shop.user)
    with pytest.raises(ProblemError, match="only with a reason"):
        inspecting.clear(result=failed, by=shop.user, reason=" ")
    for _ in range(2):
        inspecting.clear(result=failed, by=shop.user, reason="tightened, measured again")

    assert inspecting.sign(order=order, by=shop.user).signed_at
    assert Clearance.objects.count() == 1


def test_the_same_finding_twice_is_one_row(shop):
    order = assembled(shop)
    for _ in range(2):
        inspecting.record(order=order, findings=all_good(order), by=shop.user)
    assert CheckResult.objects.count() == len(inspecting.wanted_lines(order))


def test_results_are_never_changed(shop):
    order = assembled(shop)
    inspecting.record(order=order, findings=all_good(order), by=shop.user)
    result = CheckResult.objects.first()

    for change in (result.save, result.delete, CheckResult.objects.all().delete):
        with pytest.raises(ProblemError, match="never changed"):
            change()


def test_a_trailer_without_any_check_list_cannot_pass(shop):
    order = assembled(shop)
    CheckList.objects.update(is_active=False)
    with pytest.raises(ProblemError, match="No check list"):
        inspecting.sign(order=order, by=shop.user)


def test_the_inspectors_screen_from_the_first_check_to_the_signature(screen, shop):
    order = assembled(shop)
    address = reverse("dispatch:inspection", args=[order.number])
    assert "Wheel nuts" in text(screen.get(address))
    lines = inspecting.wanted_lines(order)
    typed = {f"line-{line.pk}": "good" if not line.unit else str(line.low or line.high) for line in lines}

    refused = screen.post(address, {**typed, f"line-{lines[0].pk}": "tight"})
    assert refused.status_code == 409
    assert "“tight” is no number" in text(refused)
    assert 'value="tight"' in text(refused)
    assert CheckResult.objects.count() == 0
    assert screen.post(address, typed).status_code == 302
    assert screen.post(reverse("dispatch:sign", args=[order.number])).status_code == 302

    assert Inspection.objects.get(order=order).signed_by == shop.user


def test_only_a_permitted_person_clears(screen, shop):
    order = assembled(shop)
    inspecting.record(order=order, findings=all_good(order, Papers=Finding(is_good=False)), by=shop.user)
    failed = CheckResult.objects.get(is_good=False)
    address = reverse("dispatch:clear", args=[order.number, failed.pk])

    assert screen.post(address, {"reason": "will be sent on"}).status_code == 403
    shop.user.user_permissions.add(Permission.objects.get(codename="clear_check"))
    assert screen.post(address, {"reason": "will be sent on"}).status_code == 302

    assert failed.clearance.by == shop.user


def test_a_check_list_is_changed_on_its_page_and_a_condition_that_means_nothing_is_refused(screen, shop):
    shop.user.user_permissions.add(Permission.objects.get(codename="set_checks"))
    some = CheckList.objects.first()
    line = {"what": "line", "check_list": some.pk, "sequence": 5, "words": "Bow stop", "is_active": "on"}
    address = reverse("dispatch:checks")

    refused = screen.post(address, {**line, "condition": "option.wench == 'manual'"})
    assert refused.status_code == 409
    assert not CheckLine.objects.filter(words="Bow stop").exists()
    screen.post(address, {**line, "condition": "option.winch == 'manual'"})

    assert "Bow stop" in words(shop.draft())
