"""Which operations to free in the next window: those of jobs that get in each other's way."""

from __future__ import annotations

import random

from production.scheduling.solver.decode import Decoded
from production.scheduling.solver.model import Model

SMALLEST, LARGEST = 4, 60


class Neighbourhoods:
    """Draws windows of jobs, one late job and its rivals, and learns how many jobs a window can bear."""

    def __init__(self, model: Model, seed: int, size: int = 10) -> None:
        self.model = model
        self.size = float(size)
        self.draw = random.Random(seed)
        self._drawn = 0

    def next(self, now: Decoded) -> list[int]:
        """Operations to free: those of the drawn jobs, and the shared batches next to them."""
        jobs = self._jobs(now)
        chosen = {index for job in jobs for index in self.model.operations_of[job]}
        shared = {
            other
            for index in chosen
            for other in (*self.model.after[index], *self.model.before[index])
            if self.model.job[other] < 0
        }
        return sorted(chosen | shared)

    def learn(self, *, proven: bool, better: bool) -> None:
        """Larger windows where they are solved to the end, smaller ones where they are not."""
        factor = 1.15 if proven else 1.0 if better else 0.9
        self.size = min(float(LARGEST), max(float(SMALLEST), self.size * factor))

    def _jobs(self, now: Decoded) -> list[int]:
        count = len(self.model.due)
        size = min(count, round(self.size))
        seed = self._seed_job(now)
        self._drawn += 1
        closeness = (self._by_time, self._by_rivalry)[self._drawn % 2](now, seed)
        noise = 0.25 * (max(closeness) - min(closeness) or 1.0)
        ranked = sorted(range(count), key=lambda job: closeness[job] + noise * self.draw.random())
        others = [job for job in ranked if job != seed]
        return [seed, *others[: size - 1]]

    def _seed_job(self, now: Decoded) -> int:
        """A job drawn by how late it is; any job where nothing is, and now and then."""
        late = [
            weight * max(0, end - due)
            for end, due, weight in zip(now.finish, self.model.due, self.model.weight, strict=True)
        ]
        if not any(late) or self.draw.random() < 0.15:
            return self.draw.randrange(len(late))
        return self.draw.choices(range(len(late)), late)[0]

    def _by_time(self, now: Decoded, seed: int) -> list[float]:
        """Jobs that finish at about the same time."""
        return [float(abs(finish - now.finish[seed])) for finish in now.finish]

    def _by_rivalry(self, now: Decoded, seed: int) -> list[float]:
        """Jobs that are at the same places shortly before the seed job is."""
        near = [0.0] * len(self.model.due)
        for index in self.model.operations_of[seed]:
            for other in range(self.model.count):
                job = self.model.job[other]
                if job >= 0 and self.model.place[other] == self.model.place[index]:
                    apart = abs(now.start[index] - now.start[other])
                    near[job] -= self.model.minutes[other] / (600 + apart)
        return near
