"""Windows compared on the same parts: fuller sheets against cutting early."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from bom.kernel.errors import ProblemError
from production.planning.models import Plan
from production.scheduling.windows import asking_windows, windows
from production.works.confirming import confirm_orders


@pytest.fixture(autouse=True)
def quick(monkeypatch):
    monkeypatch.setattr(windows, "SECONDS_A_WINDOW", 0.5)
    monkeypatch.setattr(windows, "REACH_DAYS", 60)


@pytest.fixture
def trial(shop):
    today = timezone.localdate()
    drafts = [shop.draft(asked_for=today + timedelta(days=days)) for days in (20, 30, 42)]
    confirm_orders(orders=drafts, by=shop.user)
    return asking_windows.run_trial(asking_windows.start_trial(by=shop.user, days=[20, 1]).pk)


def test_each_window_cuts_the_same_parts_and_a_wider_one_ties_more_money_up(trial):
    assert trial.outcome == "succeeded", trial.failure
    narrow, wide = trial.options.all()
    assert (narrow.days, wide.days) == (1, 20)
    assert narrow.parts == wide.parts == 12
    assert wide.batches <= narrow.batches
    assert wide.sheets <= narrow.sheets
    assert wide.early_money_days >= narrow.early_money_days
    assert not Plan.objects.exists()


def test_the_page_shows_the_windows_and_offers_a_plan_with_each(trial, shop, client):
    client.force_login(shop.user)
    page = client.get(reverse("week:windows")).content.decode()
    assert "Plan with 20" in page
    assert "Plan with 1<" in page


@pytest.mark.parametrize("days", [[], [0], [99], [1, 2, 3, 4, 5, 6]])
def test_windows_that_make_no_sense_are_refused(shop, days):
    with pytest.raises(ProblemError, match="cannot be compared"):
        asking_windows.start_trial(by=shop.user, days=days)
