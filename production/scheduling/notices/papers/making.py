"""The week for the wall as a PDF, made by the worker: it loads the typesetter, which the web process must not."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import typst
from django.db import transaction
from django.utils import timezone

from bom.kernel.running import Pulse
from bom.kernel.runs import Run
from bom.templatetags.workshop import day_text, late_text, short_day
from production.planning.models import Plan
from production.scheduling.notices.feed_models import WeekPaper
from production.scheduling.notices.paper_runs import RUNNER
from production.scheduling.week import Cell, JobLine, Week, late_orders, week_of

TEMPLATE = Path(__file__).with_name("week.typ")
JOBS_ON_PAPER, LATE_ON_PAPER = 60, 25


def make_paper(paper_id: int) -> None:
    """Draw a queued paper; one that another worker has claimed is left alone."""
    RUNNER.carry_out(paper_id, _draw)


def _draw(paper: WeekPaper, pulse: Pulse) -> None:
    pulse.step(10, "reading the plan")
    plan = Plan.objects.get(pk=paper.plan_id)
    texts = week_texts(plan, week_of(plan, paper.monday, JOBS_ON_PAPER))
    pulse.step(50, "setting the page")
    pdf = draw_week(texts)
    with transaction.atomic():
        WeekPaper.objects.filter(pk=paper.pk).update(pdf=pdf)
        if not RUNNER.close(paper.pk, Run.Outcome.SUCCEEDED):
            transaction.set_rollback(True)


def draw_week(texts: dict[str, Any]) -> bytes:
    """The sheet as PDF."""
    drawn = typst.compile(TEMPLATE.read_bytes(), sys_inputs={"week": json.dumps(texts)})
    if not isinstance(drawn, bytes):
        raise TypeError("The typesetter gave several files for one paper.")
    return drawn


def week_texts(plan: Plan, week: Week) -> dict[str, Any]:
    """What stands on the sheet."""
    return {
        "title": f"The week, W{week.number:02d} {week.year}",
        "plan": f"version {plan.number}",
        "standing": "released" if plan.is_current else "not released",
        "lead": f"{plan.orders_late} of {plan.orders_planned} orders late",
        "printed": day_text(timezone.localdate()),
        "days": [short_day(day) for day in week.days],
        "rows": [{"name": row.centre.name, "cells": [_cell(cell) for cell in row.cells]} for row in week.rows]
        + ([_lorry(week)] if any(cell.loads for cell in week.lorry) else []),
        "late": [
            {
                "order": row.forecast.order.number,
                "late": late_text(row.forecast.days_late),
                "due": short_day(row.forecast.due_on),
                "why": f"{row.key.sentence} {row.key.other_order or ''}".strip() if row.key else "",
            }
            for row in late_orders(plan, LATE_ON_PAPER)
        ],
    }


def _cell(cell: Cell) -> dict[str, Any]:
    if not cell.open_minutes and not cell.jobs:
        return {"percent": -1, "words": "past" if cell.is_past else "closed", "jobs": []}
    beyond = f", {cell.wanted} % wanted" if cell.wanted > 100 else ""
    more = f", and {cell.more} more" if cell.more else ""
    return {
        "percent": cell.bar,
        "words": f"{cell.percent} % planned{beyond}{more}",
        "jobs": [_job(job) for job in cell.jobs],
    }


def _job(job: JobLine) -> dict[str, str]:
    return {
        "at": f"{timezone.localtime(job.starts_at):%H:%M}",
        "what": job.order or job.words,
        "late": late_text(job.days_late),
    }


def _lorry(week: Week) -> dict[str, Any]:
    def cell(loads: Any) -> dict[str, Any]:
        jobs = [
            {
                "at": f"{timezone.localtime(load.leaves_at):%H:%M}",
                "what": f"{load.number}, {load.kg or 0:.0f} kg, back {short_day(load.back_at)}",
                "late": "",
            }
            for load in loads
        ]
        return {"percent": -1, "words": "" if jobs else "no run", "jobs": jobs}

    return {"name": "galvanising lorry", "cells": [cell(one.loads) for one in week.lorry]}
