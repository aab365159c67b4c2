"""Which lorry takes which trailers, and in which order: pure, distances in km."""

from production.dispatch.runs.check import faults
from production.dispatch.runs.planner import Plan, Round, plan
from production.dispatch.runs.ways import Ways, lacking, ways_between

__all__ = ["Plan", "Round", "Ways", "faults", "lacking", "plan", "ways_between"]
