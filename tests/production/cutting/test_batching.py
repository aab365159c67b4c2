"""Gathering what the laser owes into batches: near needs together, steel that is not there apart."""

from datetime import date, time, timedelta
from decimal import Decimal

from production.cutting import batching
from production.cutting.batching import Flat, Gathered, Owed, gather, lay_out, share_seconds
from production.cutting.nesting.job import PartShape, SheetStock
from production.cutting.raws import Raw
from production.shop.hours import Hours, Shift, WorkingDays

TODAY = date(2026, 5, 18)  # a Monday
DAYS = WorkingDays(
    Hours(tuple(Shift(day, time(8), time(16)) for day in range(5))), date(2026, 1, 1), date(2026, 12, 31)
)
STEEL = ("S355", Decimal(6))
THIN = ("S275", Decimal(3))
SIDE_MM = 100.0


def flat(item_id: int, metal: tuple[str, Decimal] = STEEL, minutes: float = 2.0) -> Flat:
    square = ((0.0, 0.0), (SIDE_MM, 0.0), (SIDE_MM, SIDE_MM), (0.0, SIDE_MM))
    shape = PartShape(f"P{item_id}", square, (), 0, (0.0, 90.0))
    return Flat(100 + item_id, item_id, metal, shape, minutes, SIDE_MM**2)


FLATS = {1: flat(1), 2: flat(2, THIN), 3: flat(3, minutes=200.0)}


def owed(
    order_id: int | None, days: int, *, item_id: int = 1, quantity: int = 1, steel_days: int = 0
) -> Owed:
    needed = TODAY + timedelta(days=days)
    return Owed(order_id, item_id, quantity, needed, TODAY + timedelta(days=steel_days))


def batches(*parts: Owed, sheet_mm2: float = 0.0, batch_days: int = 5) -> list[Gathered]:
    return gather(parts, FLATS, DAYS, TODAY, batch_days, {STEEL: sheet_mm2, THIN: sheet_mm2})


def orders(found: list[Gathered]) -> list[set[int]]:
    return [set(one.order_ids) for one in found]


def test_grades_and_thicknesses_are_never_mixed() -> None:
    found = batches(owed(1, 0), owed(1, 0, item_id=2))
    assert {one.metal for one in found} == {STEEL, THIN}


def test_needs_within_the_window_go_together_and_later_ones_apart() -> None:
    assert orders(batches(owed(1, 0), owed(2, 4), owed(3, 7))) == [{1, 2}, {3}]


def test_what_is_overdue_is_needed_today() -> None:
    assert orders(batches(owed(1, -20), owed(2, 4))) == [{1, 2}]


def test_little_need_reaches_further_ahead_until_it_is_worth_a_sheet() -> None:
    parts = [owed(1, 0), owed(2, 9), owed(3, 30)]
    assert orders(batches(*parts, sheet_mm2=1e6)) == [{1, 2}, {3}]


def test_no_batch_keeps_the_laser_longer_than_it_may() -> None:
    found = batches(owed(1, 0, item_id=3), owed(2, 1, item_id=3), owed(3, 2))
    assert all(one.minutes <= batching.MOST_MINUTES for one in found)
    assert orders(found) == [{1, 3}, {2}]


def test_parts_whose_steel_comes_later_do_not_hold_the_others_up() -> None:
    found = batches(owed(1, 0), owed(2, 0, steel_days=3), owed(3, 1))
    assert orders(found) == [{1, 3}, {2}]
    assert found[0].steel_on == TODAY


def test_one_order_waits_for_one_batch_of_a_metal_only() -> None:
    parts = [owed(1, 0, quantity=3), owed(1, 20, quantity=2)]
    assert orders(batches(*parts)) == [{1}]


def test_near_batches_get_more_time_and_all_of_it_is_given_out() -> None:
    found = batches(owed(1, 0, quantity=200), owed(2, 40, quantity=200))
    near, later = share_seconds(found, 9.0, TODAY, DAYS)
    assert (near, later) == (6.0, 3.0)


def test_a_batch_of_few_pieces_leaves_time_unused() -> None:
    found = batches(owed(1, 0, quantity=2), owed(2, 40, quantity=200))
    few, many = share_seconds(found, 900.0, TODAY, DAYS)
    assert few < 1 < many


def test_the_first_sheets_go_to_the_orders_that_need_them_first() -> None:
    """Two squares fit on a sheet, so four need two sheets."""
    gathered = Gathered(STEEL, (owed(7, 5, quantity=2), owed(8, 0, quantity=2)), 8.0)
    raw = Raw(50, None, SheetStock("SH", 230.0, 120.0, None, 1.0))
    batch = lay_out(gathered, FLATS, [raw], 0.0, lambda progress: True)
    assert [{spot.order_id for spot in sheet.spots} for sheet in batch.sheets] == [{8}, {7}]
    assert batch.left == ()
    assert batch.use == 2 * SIDE_MM**2 / (230.0 * 120.0)


def test_metal_without_a_raw_sheet_is_said_in_a_sentence() -> None:
    batch = lay_out(Gathered(STEEL, (owed(1, 0),), 2.0), FLATS, [], 0.0, lambda progress: True)
    assert batch.sheets == ()
    assert batch.left == ("There is no raw sheet of S355 6 mm; enter one to cut these parts.",)
