"""What must hold for any workshop, proved by the independent checker."""

import pytest

from production.scheduling.solver.check import check_schedule
from production.scheduling.solver.decode import Decoder
from production.scheduling.solver.model import build_model
from production.scheduling.solver.ruin import Ruin
from production.scheduling.solver.rules import atc, dispatch, edd
from production.scheduling.solver.solve import solve
from production.scheduling.solver.watch import Watch

from .shop import random_work


def go_on(percent, sentence, best):
    return True


@pytest.mark.parametrize("seed", range(220))
def test_rules_and_ruin_give_schedules_that_pass_the_check(seed):
    work = random_work(seed)
    model = build_model(work)
    decoder = Decoder(model)

    for rank in (edd(model), atc(model, 2400)):
        decoded = decoder.decode(dispatch(model, rank))
        assert decoded is not None
        assert check_schedule(work, decoder.schedule(decoded)) == []
    best = Ruin(decoder, seed).run(Watch(0.05, go_on), decoded, 0.05)
    assert best.cost <= decoded.cost
    assert check_schedule(work, decoder.schedule(best)) == []


@pytest.mark.parametrize("seed", range(220))
def test_decoding_a_schedule_again_makes_nothing_later(seed):
    work = random_work(seed)
    model = build_model(work)
    decoder = Decoder(model)
    first = decoder.decode(dispatch(model, edd(model)))

    again = decoder.decode(first.start, first_floors(model, first) if work.ovens else None)

    assert all(new <= old for new, old in zip(again.end, first.end, strict=True))


def first_floors(model, decoded):
    """Coated work stays in its run or batch: colour changes between earlier batches could be in its way."""
    return {index: decoded.start[index] for index, kind in enumerate(model.kind) if kind}


@pytest.mark.parametrize("seed", range(20))
def test_the_whole_solver_beats_the_rules_and_keeps_its_bound(seed):
    work = random_work(seed)

    found = solve(work, 0.6)

    late = found.schedule.late_minutes
    assert late <= min(rule.late_minutes for rule in found.rules)
    assert found.bound_late_minutes <= late
    assert found.proven == (found.bound_late_minutes == late)
