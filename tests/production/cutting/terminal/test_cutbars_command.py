"""The command that saws a list from bars: its results add up, its bound holds, mistakes are named."""

import io
import json
from collections import Counter

import pytest
from django.core.management import CommandError, call_command


def run(tmp_path, rows, *more):
    (tmp_path / "list.csv").write_text("\n".join(["length_mm,quantity,name", *rows]) + "\n")
    out, results = io.StringIO(), tmp_path / "out.json"
    call_command(
        "cutbars", str(tmp_path / "list.csv"), *more, "--json", str(results), stdout=out, stderr=io.StringIO()
    )
    return out.getvalue(), json.loads(results.read_text())


def refusal(tmp_path, rows, *more):
    with pytest.raises(CommandError) as caught:
        run(tmp_path, rows, *more)
    return caught.value


def test_every_piece_is_cut_and_no_bar_holds_more_than_its_length(tmp_path):
    printed, answer = run(
        tmp_path,
        ["2500,4,rail", "1800,7,cross member", "640.5,5,"],
        "--bar", "6000", "--kerf", "3", "--trim", "15",
    )  # fmt: skip

    cuts = Counter()
    for bar in answer["bars"]:
        cuts.update({cut: bar["count"] * number for cut, number in Counter(bar["cuts_mm"]).items()})
        pieces = bar["cuts_mm"]
        assert sum(pieces) + 3 * (len(pieces) - 1) <= bar["bar_mm"] - 15
    assert cuts == {2500: 4, 1800: 7, 640.5: 5}
    assert answer["proven"]
    assert answer["bound"] == sum(bar["count"] for bar in answer["bars"]) == 5
    assert answer["counted_in"] == "bars"
    assert "cross member" in printed


@pytest.mark.parametrize(("length", "bars"), [("1998", 1), ("1999", 2)])
def test_three_pieces_fit_exactly_or_not_by_their_kerf(tmp_path, length, bars):
    """1998 × 3 + 2 × 3 = 6000."""
    _, answer = run(tmp_path, [f"{length},3,"], "--bar", "6000", "--kerf", "3", "--trim", "0")

    assert sum(bar["count"] for bar in answer["bars"]) == bars


def test_prices_decide_between_lengths_and_the_bound_is_in_money(tmp_path):
    _, answer = run(tmp_path, ["2900,4,"], "--bar", "6000:60", "--bar", "7500:300", "--trim", "15")

    assert [(bar["bar_mm"], bar["count"]) for bar in answer["bars"]] == [(6000, 2)]
    assert (answer["bound"], answer["cost"], answer["counted_in"]) == (120, 120, "money")


def test_a_bar_without_a_price_costs_as_much_a_metre_as_the_one_with_one(tmp_path):
    _, answer = run(tmp_path, ["2900,2,"], "--bar", "6000", "--bar", "7500:75", "--trim", "15")

    assert (answer["bars"][0]["bar_mm"], answer["cost"]) == (6000, 60)


def test_pieces_longer_than_every_bar_are_left_over_with_an_exit_code(tmp_path):
    refused = refusal(tmp_path, ["6500,2,mast", "100,1,"], "--bar", "6000")

    assert refused.returncode == 3
    answer = json.loads((tmp_path / "out.json").read_text())
    assert [(one["name"], one["quantity"]) for one in answer["not_cut"]] == [("mast", 2)]


@pytest.mark.parametrize(
    ("rows", "options", "words"),
    [
        (["x,1,"], ("--bar", "6000"), "list.csv, line 2, column length_mm: “x” is no number above 0"),
        (["-5,1,"], ("--bar", "6000"), "column length_mm: “-5” is no number above 0"),
        (["10,1.5,"], ("--bar", "6000"), "column quantity: “1.5” is no whole number"),
        (["10,1,"], ("--bar", "6 m"), "--bar: “6 m” is no size"),
        (["10,1,"], ("--bar", "6000", "--kerf", "-1"), "The saw cut is -1.0 mm"),
    ],
)
def test_mistakes_are_named(tmp_path, rows, options, words):
    refused = refusal(tmp_path, rows, *options)

    assert words in str(refused)
    assert refused.returncode == 1
