"""The board in a real browser: picked, moved by keyboard and by pointer, kept, undone, and made a plan."""

import pytest
from playwright.sync_api import expect

from production.planning.models import Plan
from production.scheduling.asked.draft_models import PlanChange
from production.scheduling.models import PlannedOperation

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def week_of_the_latest_weld() -> tuple[str, str]:
    """A week with something to move on it, and the operation."""
    row = (
        PlannedOperation.objects.filter(
            plan__is_current=True, operation__process__code="weld", operation__state="waiting", is_fixed=False
        )
        .order_by("-starts_at")
        .first()
    )
    assert row is not None
    assert row.order is not None
    year, week, _ = row.starts_at.isocalendar()
    return f"{year}-W{week:02d}", f"{row.order.number} weld"


def test_the_manager_moves_an_operation_by_keyboard_and_takes_it_back(person):
    week, operation = week_of_the_latest_weld()
    person.sign_in("manager").open(f"/week/board/?week={week}")
    page = person.page
    bar = page.locator(f'.bar[data-op="{operation}"]:not([tabindex="-1"])').first
    bar.focus()
    page.keyboard.press("Enter")
    expect(page.locator("#to")).to_be_focused()
    expect(page.locator(".wires polyline")).to_have_count(1)
    person.shot("board-picked")
    person.check_access()

    page.locator(".bar.picked").first.focus()
    page.keyboard.press("Alt+Shift+ArrowRight")
    keep = page.get_by_role("button", name="Keep this move")
    expect(keep).to_be_visible()
    assert not PlanChange.objects.exists()
    person.shot("board-tried")
    keep.click()
    expect(page.get_by_role("button", name="Undo")).to_be_visible()
    assert PlanChange.objects.get().operation == operation
    person.check_access()

    page.locator("body").press("u")
    expect(page.get_by_role("button", name="Do it again")).to_be_visible()
    assert PlanChange.objects.get().is_undone


def test_the_manager_drags_an_operation_opens_longer_and_makes_a_plan_of_it(person):
    week, operation = week_of_the_latest_weld()
    person.sign_in("manager").open(f"/week/board/?week={week}")
    page = person.page
    bar = page.locator(f'.bar[data-op="{operation}"]:not([tabindex="-1"])').first
    bar.scroll_into_view_if_needed()
    box = bar.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] / 2 + 60, box["y"] + box["height"] / 2, steps=5)
    page.mouse.up()
    keep = page.get_by_role("button", name="Keep this move")
    expect(keep).to_be_focused()
    keep.click()
    expect(page.get_by_role("button", name="Undo")).to_be_visible()  # the board is drawn anew, and takes keys

    page.keyboard.press("o")
    page.get_by_label("Overtime at").select_option("weld")
    page.get_by_role("button", name="Open longer").click()
    expect(page.locator(".kept li")).to_have_count(2)
    person.shot("board-changed")
    page.get_by_role("button", name="A plan as it is drawn").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Plan 2")

    made = Plan.objects.get(number=2)
    assert made.based_on == Plan.objects.get(number=1)
    assert made.changes.filter(in_plan=True).count() == 2


@pytest.mark.parametrize("page_name", ["why", "promises", "follow-up", "calendars"])
def test_the_week_s_other_pages_are_readable_at_every_width(person, page_name):
    person.sign_in("manager").open(f"/week/{page_name}/")
    expect(person.page.get_by_role("heading", level=1)).to_have_count(1)
    expect(person.page.locator("[role=alert]")).to_have_count(0)
    person.shot(f"week-{page_name}")
    person.check_access()
