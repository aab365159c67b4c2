"""The invented workshop holds together: everything in it can be made, and the same seed makes the same."""

import hashlib
import re
from datetime import date

import pytest
from django.db import transaction
from django.db.models import Count, Q

from bom.catalogue.models import ModelOption, OptionGroup, OptionRule, TrailerModel
from bom.costing.masses import unit_masses
from bom.geometry.checks import check_outline
from bom.geometry.models import FlatContour, FlatPart
from bom.geometry.outlines import FlatOutline, area_mm2, from_text
from bom.items.models import Colour, Family, Item
from bom.kernel.errors import ProblemError
from bom.people.models import User
from bom.structure.conditions import compile_condition, compile_quantity, compile_text
from bom.structure.models import BillLine, Process
from bom.structure.wording import KnownNames
from inventory.buying.models import PurchaseOrder, PurchaseOrderLine, Supplier, SupplierItem
from inventory.buying.outside_models import OutsideLine
from inventory.buying.outside_queries import ledger_differences
from inventory.levels.arithmetic import WEIGHING
from inventory.levels.models import DemandOneOff, Forecast, ItemLevel, LevelProposal, LevelRun
from inventory.stock import ledger
from inventory.stock.models import Balance, Movement, Reservation
from production.orders.freezing import expand_bill, load_book
from production.orders.models import Order, OrderChoice, OrderColour
from production.planning.models import Plan
from production.site import demo
from production.site.demo.catalogue import GALVANISED, GROUPS, MODELS, standard_choice
from production.site.demo.wishes import Boat, scope_of
from production.site.roles import ROLES
from production.works.models import WorksOperation

JUST_BEFORE_THE_SUMMER_CLOSURE = date(2026, 8, 7)


@pytest.mark.django_db
def test_the_whole_workshop_is_as_large_as_promised():
    heard = []
    summary = demo.build(orders=60, history_weeks=6, progress=lambda percent, step: heard.append(percent))

    lines = Order.objects.filter(state__in=Order.OPEN).annotate(lines=Count("bill__lines"))
    assert summary.open_orders == lines.count() == 60
    assert Order.objects.filter(state=Order.State.DRAFT).count() == 4
    assert all(150 <= order.lines <= 350 for order in lines)
    assert 12 <= PurchaseOrder.objects.filter(state="released").count() <= 14
    assert OutsideLine.objects.filter(is_closed=False).count() == 3
    assert ledger_differences() == []
    assert heard == sorted(heard)
    assert heard[-1] == 100
    assert ledger.audit() == []


@pytest.mark.django_db
def test_the_range_is_wide(workshop):
    assert TrailerModel.objects.count() >= 8
    assert TrailerModel.objects.filter(max_mass_kg=400, braked=False).exists()
    assert TrailerModel.objects.filter(max_mass_kg=3500, axles=2, braked=True).exists()
    assert not TrailerModel.objects.filter(Q(max_mass_kg__gt=750) ^ Q(braked=True)).exists()
    assert Item.objects.count() >= 250
    assert FlatPart.objects.count() >= 80
    assert Supplier.objects.count() == 9
    assert OptionGroup.objects.count() >= 8
    assert OptionRule.objects.count() >= 6
    assert Colour.objects.filter(items__group="rollers").distinct().count() == 6


@pytest.mark.django_db
def test_bills_are_at_least_four_levels_deep(workshop):
    rows = BillLine.objects.filter(component__isnull=False)
    below = {}
    for parent, component in rows.values_list("revision__item__code", "component__code"):
        below.setdefault(parent, set()).add(component)

    def depth(code):
        return 1 + max((depth(one) for one in below[code]), default=0) if code in below else 0

    assert min(depth(model.top) for model in MODELS) >= 4


@pytest.mark.django_db
def test_every_flat_part_can_be_cut(workshop):
    contours = {}
    for part, vertices in FlatContour.objects.order_by("part", "sequence").values_list("part", "vertices"):
        contours.setdefault(part, []).append(from_text(vertices))

    for part in FlatPart.objects.select_related("item"):
        outline = FlatOutline(contours[part.pk][0], tuple(contours[part.pk][1:]))
        assert check_outline(outline) == [], part.item.code
        assert area_mm2(outline) == pytest.approx(float(part.area_mm2), rel=1e-3)
        steel_kg = float(part.area_mm2 * part.thickness_mm) * 7.85e-6
        assert float(part.item.mass_kg) == pytest.approx(steel_kg, abs=1e-4)
    assert len({part.item.grade for part in FlatPart.objects.select_related("item")}) == 2


@pytest.mark.django_db
def test_two_hands_are_never_the_same_blank_unless_folded(workshop):
    for family in Family.objects.filter(items__flat_part__bends=0).distinct():
        left, right = family.items.order_by("hand")
        assert _contours(left) != _contours(right), family.code


@pytest.mark.django_db
def test_every_expression_uses_only_what_an_order_knows(workshop):
    names = KnownNames.of(
        options={
            group.code: [choice.code for choice in group.choices.all()]
            for group in OptionGroup.objects.prefetch_related("choices")
        },
        colours=Colour.objects.values_list("code", flat=True),
        finishes=("galvanised", "duplex", "painted"),
    )
    for line in BillLine.objects.all():
        compile_condition(line.condition, names)
        compile_quantity(line.quantity, names)
        compile_text(line.colour_of, names)
        compile_text(line.hand_of, names)
    for rule in OptionRule.objects.all():
        compile_condition(rule.when, names)
        compile_condition(rule.then, names)
    assert BillLine.objects.exclude(condition="").count() > 100


@pytest.mark.django_db
def test_every_model_has_one_standard_answer_to_each_question(workshop):
    defaults = ModelOption.objects.filter(is_default=True).values_list("model__code", "choice__group__code")

    assert sorted(defaults) == sorted((model.code, group.code) for model in MODELS for group in GROUPS)


@pytest.mark.django_db
def test_a_standard_trailer_weighs_what_the_catalogue_says(workshop):
    book = load_book(date.today())
    for model in MODELS:
        length = sum(model.hulls_mm) // 2
        choices = {group.code: standard_choice(model, group).code for group in GROUPS}
        boat = Boat("any", 100, length, 1800, length, None, False)
        scope = scope_of(model, GALVANISED, choices, {"port": "red", "starboard": "red"}, boat)
        expansion = expand_bill(book.loaded, model.top, scope)

        mass = unit_masses(expansion, book.loaded.own_kg, book.loaded.raw)[model.top]

        assert float(mass) == pytest.approx(model.own_mass_kg, rel=0.02)


@pytest.mark.django_db
def test_whatever_is_bought_has_a_supplier_a_level_and_a_past(workshop):
    stocked = set(Item.objects.exclude(kind=Item.Kind.MADE).values_list("pk", flat=True))

    assert set(SupplierItem.objects.values_list("item", flat=True)) == stocked
    assert set(ItemLevel.objects.values_list("item", flat=True)) == stocked
    assert set(Movement.objects.values_list("item", flat=True)) >= stocked
    axles = SupplierItem.objects.filter(item__group="axles")
    assert all(30 <= sold.lead_days <= 45 for sold in axles)


@pytest.mark.django_db
def test_with_half_a_year_behind_it_every_page_of_the_levels_has_something_to_show():
    demo.build(orders=6, history_weeks=30)

    state = LevelProposal.State
    decided = dict(LevelProposal.objects.values_list("state").annotate(count=Count("pk")))
    assert (decided[state.ACCEPTED], decided[state.KEPT]) == (2, 1)
    assert decided[state.WAITING] > 0
    assert LevelRun.objects.get().has_succeeded
    assert ItemLevel.objects.filter(is_manual=True).count() == 3
    assert DemandOneOff.objects.exists()
    assert Forecast.objects.exists()
    weighing = Item.objects.filter(lot_rule__in=WEIGHING).values_list("lot_rule", flat=True)
    assert set(weighing) == set(WEIGHING)


@pytest.mark.django_db
def test_the_first_orders_are_under_way(workshop):
    begun = Order.objects.filter(state=Order.State.BEGUN)

    assert begun.count() == 2
    for order in begun:
        states = dict(
            WorksOperation.objects.filter(works_order__order=order).values_list("process__code", "state")
        )
        assert states["laser"] == WorksOperation.State.DONE
        assert Reservation.objects.filter(purpose=order.purpose).exists()
    assert Balance.objects.filter(location__code="WELD", quantity__gt=0).exists()
    assert ledger.audit() == []


@pytest.mark.django_db
def test_each_role_can_sign_in(client, workshop):
    assert {person.role for person in demo.SIGN_INS} == set(ROLES)
    for person in demo.SIGN_INS:
        assert client.login(username=person.name, password=demo.PASSWORD)
        user = User.objects.get(username=person.name)
        assert [group.name for group in user.groups.all()] == [person.role]


@pytest.mark.django_db
def test_the_same_seed_builds_the_same_workshop():
    first = _digest_of(seed=3)

    assert first == _digest_of(seed=3)
    assert first != _digest_of(seed=4)


@pytest.mark.django_db
def test_a_workshop_that_is_not_empty_is_not_built_over():
    Item.objects.create(code="OWN", name="our own part", kind=Item.Kind.BOUGHT)

    with pytest.raises(ProblemError, match="already has 1 items"):
        demo.build(orders=2)

    assert not Process.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_clearing_leaves_only_superusers(workshop):
    User.objects.create_superuser("owner", password="long enough 7")

    demo.clear()

    assert [user.username for user in User.objects.all()] == ["owner"]
    assert not Item.objects.exists()
    assert not Movement.objects.exists()
    assert not Order.objects.exists()


@pytest.mark.django_db
def test_real_work_is_not_thrown_away(workshop):
    User.objects.create_user("jo", password="long enough 7")

    with pytest.raises(ProblemError, match=r"Other people sign in here \(jo\)"):
        demo.clear()

    assert Order.objects.exists()


@pytest.mark.django_db
def test_a_workshop_without_the_demonstrations_people_is_not_thrown_away():
    Item.objects.create(code="OWN", name="our own part", kind=Item.Kind.BOUGHT)

    with pytest.raises(ProblemError, match="may be real work"):
        demo.clear()

    assert Item.objects.exists()


@pytest.mark.django_db
def test_nothing_is_cleared_while_a_plan_is_made(workshop):
    Plan.objects.create(number=1)

    with pytest.raises(ProblemError, match="A plan is being made"):
        demo.clear()

    assert Order.objects.exists()


def _contours(item):
    return list(item.flat_part.contours.order_by("sequence").values_list("vertices", flat=True))


def _digest_of(*, seed):
    """Of everything that people would call by its name; numbers of rows and times of writing left out."""
    with transaction.atomic():
        demo.build(seed=seed, orders=4, history_weeks=3, today=JUST_BEFORE_THE_SUMMER_CLOSURE)
        told = [
            (Item, "code", "name", "mass_kg", "surface_m2", "standard_cost", "lot_size"),
            (BillLine, "revision__item__code", "position", "component__code", "family__code", "quantity"),
            (FlatContour, "part__item__code", "sequence", "vertices"),
            (Order, "number", "customer__code", "model__code", "hull__name", "hull__mass_kg", "asked_for"),
            (Order, "number", "finish", "price", "weight", "state", "bill__digest"),
            (OrderChoice, "order__number", "choice__group__code", "choice__code"),
            (OrderColour, "order__number", "place", "colour__code"),
            (Movement, "posting__key", "item__code", "location__code", "lot__code", "quantity"),
            (PurchaseOrderLine, "order__supplier__code", "position", "item__code", "quantity", "due_on"),
            (Reservation, "item__code", "purpose__code", "quantity"),
            (ItemLevel, "item__code", "reorder_point"),
            (WorksOperation, "works_order__number", "process__code", "minutes", "state"),
        ]
        text = repr([sorted(map(str, model.objects.values_list(*names))) for model, *names in told])
        text = re.sub(r"(demo:half|stores:count-sheet):\d+", r"\1", text)
        transaction.set_rollback(True)
    return hashlib.sha256(text.encode()).hexdigest()
