"""Week numbers as shown to people, against ISO 8601.

Rule: week 1 holds 4 January, the week of the year's first Thursday
(https://docslib.org/doc/11249519/iso-8601-rule-for-defining-weeknumbers).
"""

from datetime import date

import pytest

from bom.templatetags.workshop import day_text

CASES = {
    date(2005, 1, 1): 53,
    date(2005, 1, 2): 53,
    date(2005, 12, 31): 52,
    date(2007, 1, 1): 1,
    date(2008, 12, 29): 1,
    date(2009, 12, 31): 53,
    date(2010, 1, 3): 53,
    date(2016, 1, 3): 53,
    date(2018, 12, 31): 1,
    date(2020, 12, 31): 53,
    date(2021, 1, 3): 53,
    date(2024, 12, 30): 1,
    date(2026, 1, 1): 1,
    date(2026, 12, 31): 53,
    date(2027, 1, 3): 53,
}


@pytest.mark.parametrize(("shown", "week"), CASES.items(), ids=map(str, CASES))
def test_days_carry_their_iso_week(shown, week):
    assert day_text(shown).endswith(f"W{week:02d}")


def test_years_with_53_weeks():
    """The years from 2000 to 2049 that the rule gives 53 weeks: 28 December always lies in the last one."""
    long = [year for year in range(2000, 2050) if day_text(date(year, 12, 28)).endswith("W53")]

    assert long == [2004, 2009, 2015, 2020, 2026, 2032, 2037, 2043, 2048]
