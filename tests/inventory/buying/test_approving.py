"""Who may release what, and who approves the rest."""

from decimal import Decimal

import pytest
from django.contrib.auth.models import Group

from bom.kernel.errors import ProblemError
from inventory.buying import approving, ordering
from inventory.buying.limits import reach_of
from inventory.buying.models import BuyingLimit


@pytest.fixture
def limits(buyer, chief):
    """The buyer alone up to 50; the chief alone up to 500, and approves up to 1000."""
    BuyingLimit.objects.create(person=buyer, releases_up_to=50, approves_up_to=0)
    return BuyingLimit.objects.create(person=chief, releases_up_to=500, approves_up_to=1000)


def _asked(buying, buyer, quantity=20):
    order = buying.draft(quantity)  # 20 × 3.20 = 64
    return approving.ask_approval(order=order, by=buyer)


def test_without_any_limit_nobody_is_stopped(buying, buyer):
    assert ordering.release_order(order=buying.draft(9000), by=buyer).state == "released"


def test_within_the_limit_it_goes_at_once(buying, buyer, limits):
    assert ordering.release_order(order=buying.draft(10), by=buyer).released_by == buyer


def test_above_the_limit_it_waits_for_another_person(buying, buyer, chief, limits):
    order = buying.draft(20)
    with pytest.raises(ProblemError, match=r"64\.00 is above your limit of 50\.00"):
        ordering.release_order(order=order, by=buyer)

    approving.ask_approval(order=order, by=buyer)
    approved = approving.approve(order=order, by=chief)

    assert (approved.approved_by, approved.approved_value) == (chief, Decimal("64.00"))
    assert ordering.release_order(order=order, by=buyer).state == "released"


def test_nobody_approves_his_own(buying, buyer, chief, limits):
    limits.releases_up_to = 1
    limits.save()
    order = _asked(buying, chief)
    with pytest.raises(ProblemError, match="drafted or asked for himself"):
        approving.approve(order=order, by=chief)
    # The keeper drafted it, the chief asked: neither may.
    BuyingLimit.objects.filter(person=buyer).update(approves_up_to=None)
    with pytest.raises(ProblemError, match="drafted or asked for himself"):
        approving.approve(order=order, by=buyer)


def test_an_approver_has_a_ceiling_too(buying, buyer, chief, limits):
    with pytest.raises(ProblemError, match="above what you may approve"):
        approving.approve(order=_asked(buying, buyer, 400), by=chief)


def test_without_the_right_a_high_limit_does_not_approve(buying, buyer, chief, limits):
    chief.user_permissions.clear()
    bare = type(chief).objects.get(pk=chief.pk)
    with pytest.raises(ProblemError, match="above what you may approve"):
        approving.approve(order=_asked(buying, buyer), by=bare)


def test_a_change_after_the_approval_withdraws_it(room, buying, buyer, chief, limits):
    order = _asked(buying, buyer)
    approving.approve(order=order, by=chief)
    line = order.lines.get()
    ordering.change_line(line=line, quantity=Decimal(200), due_on=line.due_on, by=buyer)

    with pytest.raises(ProblemError, match="above your limit"):
        ordering.release_order(order=order, by=buyer)


def test_it_is_approved_once(buying, buyer, chief, limits):
    order = _asked(buying, buyer)
    approving.approve(order=order, by=chief)
    with pytest.raises(ProblemError, match="Ada Chief has approved it already"):
        approving.approve(order=order, by=chief)


def test_what_needs_no_approval_is_not_asked_for(buying, buyer, limits):
    with pytest.raises(ProblemError, match="within your own limit"):
        approving.ask_approval(order=buying.draft(10), by=buyer)


def test_a_draft_given_back_is_asked_for_anew(buying, buyer, chief, limits):
    order = _asked(buying, buyer)
    approving.decline(order=order, by=chief)
    with pytest.raises(ProblemError, match="Nobody has asked"):
        approving.approve(order=order, by=chief)


def test_the_highest_of_several_roles_counts_and_a_persons_own_row_before_all(buyer):
    for name, limit in (("desk", 100), ("yard", 300)):
        group = Group.objects.create(name=name)
        buyer.groups.add(group)
        BuyingLimit.objects.create(role=group, releases_up_to=limit, approves_up_to=limit)
    assert reach_of(buyer).releases_up_to == 300

    BuyingLimit.objects.create(person=buyer, releases_up_to=5)
    assert (reach_of(buyer).releases_up_to, reach_of(buyer).approves_up_to) == (5, None)


def test_somebody_without_a_row_has_nothing_once_limits_exist(chief, buyer):
    BuyingLimit.objects.create(person=chief, releases_up_to=500)
    assert not reach_of(buyer).may_release(Decimal("0.01"))
