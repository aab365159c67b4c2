"""The life of an alert."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from bom.kernel.errors import ProblemError
from inventory.buying import ordering, receiving
from inventory.buying.confirming import Promise, confirm_line
from inventory.stock.models import Location
from inventory.stores.rules import add_substitute
from production.planning.alert_models import Alert, AlertNews, Silence
from production.planning.alerting.queries import heard, open_alerts, silenced
from production.planning.alerting.watching import silence, speak_again, watch
from production.planning.raising import raise_suggestions


def _news(alert) -> list[str]:
    return [news.kind for news in alert.news.order_by("id")]


def _silence(trouble, alert, days=9) -> Silence:
    return silence(alert=alert, by=trouble.shop.user, reason="lorry is booked", until=trouble.day(days))


def test_both_kinds_become_rows_with_first_and_last_sight(trouble):
    trouble.shortage()
    trouble.shelf("RO-RED")
    box, roller = trouble.look()
    first = box.first_seen
    again, _ = trouble.look(days=1)

    assert (box.kind, roller.kind) == ("shortage", "shelf")
    assert (again.pk, again.first_seen) == (box.pk, first)
    assert again.last_seen > first


def test_the_same_sight_twice_is_told_once(trouble):
    trouble.shortage()
    trouble.look()
    (alert,) = trouble.look(days=1)

    assert _news(alert) == ["new"]


def test_a_worse_date_and_a_larger_quantity_are_news_once(trouble):
    short = trouble.shortage()
    trouble.look()
    short.available_on, short.quantity = trouble.day(20), 3
    short.save()
    trouble.look()
    (alert,) = trouble.look()

    assert _news(alert) == ["new", "date", "larger"]
    assert alert.news.get(kind="larger").words == "short 3, not 2"


def test_getting_better_and_as_bad_again_is_no_news(trouble):
    short = trouble.shortage(there=12)
    for there in (12, 9, 12):
        short.available_on = trouble.day(there)
        short.save()
        (alert,) = trouble.look()

    assert _news(alert) == ["new"]


def test_another_order_that_is_stopped_is_an_alert_of_its_own(trouble):
    trouble.shortage()
    trouble.look()
    trouble.shortage()
    first, second = trouble.look()

    assert (first.item, first.order != second.order) == (second.item, True)
    assert (_news(first), _news(second)) == (["new"], ["new"])


def test_what_has_passed_is_gone_and_comes_back_as_a_new_row(trouble):
    short = trouble.shortage()
    (first,) = trouble.look()
    kept = {**short.__dict__}
    short.delete()
    assert trouble.look() == []
    first.refresh_from_db()
    assert first.gone_at is not None

    trouble.shortage(order=trouble.shop and type(first.order).objects.get(pk=kept["order_id"]))
    (second,) = trouble.look()
    assert second.pk != first.pk


def test_an_order_that_is_cancelled_stops_nobody(trouble):
    short = trouble.shortage()
    trouble.look()
    type(short.order).objects.filter(pk=short.order_id).update(state="cancelled")

    assert trouble.look() == []


def test_a_promise_in_time_ends_a_shortage_and_a_later_one_is_news(trouble):
    short = trouble.shortage(suggestion=trouble.suggestion())
    (order,) = raise_suggestions(suggestion_ids=[short.suggestion_id], by=trouble.shop.user)
    ordering.release_order(order=order, by=None)
    line = order.lines.get()
    trouble.look()
    promise = Promise(trouble.day(40), line.quantity)
    confirm_line(line=line, promise=promise, by=None, key="confirm:1")
    (alert,) = trouble.look()
    assert (alert.there_on, _news(alert)) == (trouble.day(40), ["new", "date"])

    confirm_line(line=line, promise=Promise(trouble.day(5), line.quantity), by=None, key="confirm:2")
    assert trouble.look() == []


def test_a_delivery_ends_a_shortage(trouble):
    short = trouble.shortage(suggestion=trouble.suggestion())
    (order,) = raise_suggestions(suggestion_ids=[short.suggestion_id], by=trouble.shop.user)
    ordering.release_order(order=order, by=None)
    line = order.lines.get()
    receiving.receive_line(
        line=line,
        quantity=line.quantity,
        location=Location.objects.get(code="A1"),
        by=trouble.shop.user,
        key="goods-in:1",
    )
    assert trouble.look() == []


def test_a_silenced_alert_is_not_heard_until_its_day_and_then_told_again(trouble):
    trouble.shortage()
    (alert,) = trouble.look()
    _silence(trouble, alert, days=9)
    trouble.look(days=9)
    assert list(heard(open_alerts())) == []
    assert list(silenced(open_alerts())) == [alert]

    trouble.look(days=10)
    assert list(heard(open_alerts())) == [alert]
    assert _news(alert) == ["new", "again"]
    assert "lorry is booked" in alert.news.get(kind="again").words


def test_news_breaks_a_silence(trouble):
    short = trouble.shortage()
    (alert,) = trouble.look()
    _silence(trouble, alert)
    short.quantity = 9
    short.save()
    trouble.look()

    assert list(heard(open_alerts())) == [alert]
    assert Silence.objects.get().ended_at is not None


def test_a_silence_is_about_one_order_only(trouble):
    trouble.shortage()
    (alert,) = trouble.look()
    _silence(trouble, alert)
    trouble.shortage()
    trouble.look()

    assert heard(open_alerts()).count() == 1


def test_a_person_may_hear_again_and_silence_anew(trouble):
    trouble.shortage()
    (alert,) = trouble.look()
    _silence(trouble, alert)
    speak_again(alert=alert, by=trouble.shop.user)
    assert heard(open_alerts()).count() == 1

    _silence(trouble, alert, days=3)
    _silence(trouble, alert, days=4)
    assert Silence.objects.filter(ended_at__isnull=True).count() == 1


@pytest.mark.parametrize(
    ("reason", "days", "said"),
    [(" ", 3, "needs a reason"), ("why", -1, "is no day"), ("why", 400, "within a year")],
)
def test_a_silence_has_a_reason_and_an_end(trouble, reason, days, said):
    trouble.shortage()
    (alert,) = trouble.look()
    with pytest.raises(ProblemError, match=said):
        silence(alert=alert, by=trouble.shop.user, reason=reason, until=trouble.day(days))


def test_what_is_gone_is_not_silenced(trouble):
    short = trouble.shortage()
    (alert,) = trouble.look()
    short.delete()
    trouble.look()
    with pytest.raises(ProblemError, match="is gone"):
        _silence(trouble, alert)


def _acts(alert) -> list[tuple[str, str]]:
    return [(act.kind, act.words) for act in alert.acts.order_by("rank")]


def test_buying_is_proposed_and_then_the_draft_to_release(trouble):
    short = trouble.shortage(suggestion=trouble.suggestion())
    (alert,) = trouble.look()
    assert _acts(alert) == [("buy", "Buy 2: suggestion 1")]

    (order,) = raise_suggestions(suggestion_ids=[short.suggestion_id], by=trouble.shop.user)
    (alert,) = trouble.look()
    assert _acts(alert) == [("buy", f"Release {order.number} to Supplier One: it stands there on line 1")]


def test_the_line_that_it_waits_for_is_to_be_brought_forward(trouble):
    suggestion = trouble.suggestion()
    trouble.shortage(suggestion=suggestion)
    (order,) = raise_suggestions(suggestion_ids=[suggestion.pk], by=trouble.shop.user)
    ordering.release_order(order=order, by=None)
    (alert,) = trouble.look()
    ((kind, words),) = _acts(alert)

    assert kind == "expedite"
    assert words.startswith(f"Ask Supplier One to bring {order.number} line 1 forward from")


@pytest.mark.parametrize(
    ("needed", "there", "quantity", "is_moved"),
    [
        pytest.param(12, 5, 2, True, id="it can just wait, and is here just in time"),
        pytest.param(11, 5, 2, False, id="it needs them before ours have come"),
        pytest.param(30, 6, 2, False, id="its own are not here in time"),
        pytest.param(30, 0, 1, False, id="it has too few"),
    ],
)
def test_another_order_gives_only_what_it_can_wait_for(trouble, needed, there, quantity, is_moved):
    trouble.shortage(needed=5, there=12)
    other = trouble.order()
    trouble.peg(other, needed=needed, there=there, quantity=quantity)
    (alert,) = trouble.look()

    assert [act.from_order for act in alert.acts.all()] == ([other] if is_moved else [])


def test_an_order_does_not_give_to_itself(trouble):
    short = trouble.shortage()
    trouble.peg(short.order)
    (alert,) = trouble.look()
    assert _acts(alert) == []


@pytest.mark.parametrize(("free", "is_used"), [("2", True), ("1", False)])
def test_a_substitute_is_named_where_enough_of_it_is_free(trouble, free, is_used):
    items = trouble.shop.items
    add_substitute(
        item=items["BOX"], instead=items["RO-GREEN"], note="not afloat", both_ways=False, by=trouble.shop.user
    )
    trouble.shop.stock("RO-GREEN", free)
    trouble.shortage()
    (alert,) = trouble.look()
    used = [("substitute", "Use RO-GREEN instead (not afloat): 2 are free")] if is_used else []

    assert _acts(alert) == used


def test_a_shelf_is_to_be_bought_for(trouble):
    trouble.shelf()
    (alert,) = trouble.look()
    ((kind, words),) = _acts(alert)
    assert kind == "buy"
    assert words.startswith("Buy 5 from Supplier One by")


def test_looking_asks_the_same_number_of_questions_however_much_is_short(
    trouble, django_assert_max_num_queries
):
    for _ in range(8):
        trouble.shortage(suggestion=trouble.suggestion())
    for _ in range(2):
        with django_assert_max_num_queries(45):
            watch()
    assert Alert.objects.count() == 8
    assert AlertNews.objects.count() == 8


def test_without_a_plan_only_shelves_are_watched(trouble):
    trouble.shortage()
    trouble.shelf("RO-RED")
    trouble.plan.is_current = False
    trouble.plan.save()

    assert [alert.kind for alert in trouble.look()] == ["shelf"]


def test_a_shelf_alert_is_told_again_when_it_runs_out_much_earlier(trouble):
    trouble.shop.stock("BOX", "4")
    level = trouble.shelf(a_day="0.1")
    trouble.look()
    level.daily_mean = Decimal(2)
    level.save()
    (alert,) = trouble.look()

    assert _news(alert) == ["new", "date"]
    assert timezone.now() - alert.last_seen < timedelta(minutes=5)
