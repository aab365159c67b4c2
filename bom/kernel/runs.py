"""A long computation as a row: where it is, how it ended, how far it got, and that it still breathes."""

from datetime import timedelta

from django.conf import settings
from django.db import models

SILENCE_ALLOWED = timedelta(seconds=60)


class Run(models.Model):
    """Abstract row of background work.

    `state` says where the work is, `outcome` how it ended; they are apart so that a cancelled run is finished
    and a failed one keeps its sentence. A worker claims a queued row by a conditional update; a sweeper closes
    running rows whose heartbeat has been silent longer than `SILENCE_ALLOWED`.
    """

    class State(models.TextChoices):
        QUEUED = "queued", "waiting its turn"
        RUNNING = "running", "running"
        FINISHED = "finished", "finished"

    class Outcome(models.TextChoices):
        NONE = "", "not yet known"
        SUCCEEDED = "succeeded", "succeeded"
        FAILED = "failed", "failed"
        CANCELLED = "cancelled", "cancelled"

    state = models.CharField(max_length=10, choices=State, default=State.QUEUED)
    outcome = models.CharField(max_length=10, choices=Outcome, default=Outcome.NONE, blank=True)
    percent = models.PositiveSmallIntegerField(default=0)
    step = models.CharField(max_length=200, blank=True)
    failure = models.TextField(blank=True)
    cancel_asked = models.BooleanField(default=False)
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    asked_at = models.DateTimeField(auto_now_add=True)
    started_at = models.DateTimeField(null=True, blank=True)
    heartbeat_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        abstract = True

    @property
    def is_open(self) -> bool:
        return self.state != self.State.FINISHED

    @property
    def has_succeeded(self) -> bool:
        return self.outcome == self.Outcome.SUCCEEDED
