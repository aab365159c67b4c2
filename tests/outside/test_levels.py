"""Reorder points against published figures and worked examples."""

import math
from decimal import Decimal

import pytest
from scipy import stats
from stockpyl.instances import load_instance
from stockpyl.newsvendor import newsvendor_normal
from stockpyl.rq import r_q_eoqss_approximation

from inventory.levels.arithmetic import Demand, LeadTime, reorder_point
from inventory.levels.counts import counted_point
from inventory.levels.lotsizing import economic_quantity

DAYS = 250


def _level(mean, deviation, days, days_deviation=0.0, service_level=0.95):
    return reorder_point(
        demand=Demand(DAYS, mean, deviation),
        lead=LeadTime(days, days_deviation),
        service_level=service_level,
    )


# Quantiles of the standard normal distribution, as in any printed table of it; values computed with
# scipy.stats.norm.ppf, an implementation independent of the one used here.
@pytest.mark.parametrize(
    ("service_level", "z"),
    [
        (0.90, 1.2816),
        (0.95, 1.6449),
        (0.97, 1.8808),
        (0.975, 1.9600),
        (0.98, 2.0537),
        (0.99, 2.3263),
        (0.999, 3.0902),
    ],
)
def test_the_service_factor_is_the_normal_quantile(service_level, z):
    assert _level(0, 1, 1, service_level=service_level).z == pytest.approx(z, abs=5e-5)


def test_use_in_the_lead_time_known_as_a_whole():
    """Stevenson, Operations Management, 14th edition, example 8 of the chapter on inventory: use in the lead time
    is normal with mean 50 t and deviation 5 t, risk of running out 3 %: z 1.88, safety stock 9.40 t, reorder at
    59.40 t. https://fliphtml5.com/cviyu/vkrs/OPERAT%7E1/557/

    The book rounds z to 1.88; with z unrounded the figures are 9.404 and 59.404.
    """
    level = _level(50, 5, 1, service_level=0.97)

    assert round(level.z, 2) == 1.88
    assert level.safety == pytest.approx(9.40, abs=0.01)
    assert level.point == pytest.approx(59.40, abs=0.01)


def test_use_varies_and_the_lead_time_does_not():
    """Daily use 5, deviation 2, lead time 3 days, 95 %. Exercise stated at
    https://www.mycoursehelp.com/QA/the-hardware-warehouse-is-evaluating-saf/36573/1; the answer here is computed
    from the formula with the tabled z 1.6449: 15 + 1.6449 × 2 × sqrt(3) = 20.698.
    """
    level = _level(5, 2, 3)

    assert level.deviation_meanwhile == pytest.approx(3.4641, abs=5e-5)
    assert level.safety == pytest.approx(5.698, abs=5e-4)
    assert level.point == pytest.approx(20.698, abs=5e-4)


def test_the_lead_time_varies_and_use_does_not():
    """Use 5 a day, lead time normal with mean 3 and deviation 2 days, 95 %. Exercise stated at
    https://brainmass.com/business/purchases-inventory-and-cogs/quantitative-analysis-inventory-control-models-468949;
    the answer here is computed from the formula: 15 + 1.6449 × 5 × 2 = 31.449.
    """
    level = _level(5, 0, 3, 2)

    assert level.deviation_meanwhile == pytest.approx(10)
    assert level.safety == pytest.approx(16.449, abs=5e-4)
    assert level.point == pytest.approx(31.449, abs=5e-4)


def test_the_same_formula_backwards_gives_the_service_level():
    """Use 29 a day, deviation 5.7, lead time 3 days. Exercise stated at
    https://brainmass.com/business/finance/order-point-safety-stock-491166; answers computed: at 95 % reorder at
    103.239; a safety stock of 20 means reordering at 107 and a service level of 97.86 %.
    """
    assert _level(29, 5.7, 3).point == pytest.approx(103.239, abs=5e-4)

    level = _level(29, 5.7, 3, service_level=0.9786)
    assert level.point == pytest.approx(107, abs=0.01)


def test_both_vary():
    """Both random: deviation sqrt(L·s² + m²·s_L²), the textbook formula; here from the two parts above."""
    both, use, lead = _level(5, 2, 3, 2), _level(5, 2, 3), _level(5, 0, 3, 2)

    assert both.deviation_meanwhile == pytest.approx(
        math.hypot(use.deviation_meanwhile, lead.deviation_meanwhile)
    )


def test_reorder_point_and_quantity_together():
    """Snyder and Shen, example 5.1 (stockpyl's bundled data), by their approximation of an economic quantity with
    safety stock: order 8, keeping 0.225, shortage 7.5, use a year 1300 with deviation 150, lead time 1/12 year. The
    service level there is p/(p + h)."""
    figures = load_instance("example_5_1")
    point, quantity = r_q_eoqss_approximation(**figures)
    service_level = figures["stockout_cost"] / (figures["stockout_cost"] + figures["holding_cost"])
    ours = _level(
        figures["demand_mean"], figures["demand_sd"], figures["lead_time"], service_level=service_level
    )
    lot = economic_quantity(yearly=Decimal(1300), order_cost=Decimal(8), holding_cost=Decimal("0.225"))

    assert (round(point, 3), round(quantity, 3)) == (190.337, 304.047)
    assert ours.point == pytest.approx(point)
    assert float(lot) == pytest.approx(quantity)


@pytest.mark.parametrize(("name", "point"), [("example_4_3", 56.6039559), ("example_4_4", 264.766894)])
def test_the_level_that_one_lead_time_empties(name, point):
    """The newsvendor with normal use (Snyder and Shen, examples 4.3 and 4.4): the level with service p/(p + h)."""
    figures = load_instance(name)
    periods = 1 + figures.pop("lead_time", 0)
    theirs, _ = newsvendor_normal(**figures, lead_time=periods - 1)
    service_level = figures["stockout_cost"] / (figures["stockout_cost"] + figures["holding_cost"])
    ours = _level(figures["demand_mean"], figures["demand_sd"], periods, service_level=service_level)

    assert ours.point == pytest.approx(theirs) == pytest.approx(point)


@pytest.mark.parametrize("mean", [0.02, 0.5, 3.7, 9.9])
@pytest.mark.parametrize("service_level", [0.5, 0.95, 0.99])
def test_few_pieces_by_poisson(mean, service_level):
    found = counted_point(mean=mean, variance=mean, service_level=service_level)

    assert found.distribution == "Poisson"
    assert found.point == stats.poisson.ppf(service_level, mean)
    assert found.chance == pytest.approx(stats.poisson.cdf(found.point, mean))


@pytest.mark.parametrize(("mean", "variance"), [(0.5, 0.9), (3.7, 12.0), (9.0, 50.0)])
@pytest.mark.parametrize("service_level", [0.9, 0.95, 0.99])
def test_few_pieces_by_the_negative_binomial(mean, variance, service_level):
    found = counted_point(mean=mean, variance=variance, service_level=service_level)
    p, r = mean / variance, mean**2 / (variance - mean)

    assert found.distribution == "negative binomial"
    assert found.point == stats.nbinom.ppf(service_level, r, p)
    assert found.chance == pytest.approx(stats.nbinom.cdf(found.point, r, p))
