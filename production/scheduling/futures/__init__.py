"""Many futures of a plan: times drawn from what history says of them, the plan's sequence kept. Pure; needs numpy."""
