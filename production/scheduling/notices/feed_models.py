"""What of the plan goes out of the house's pages: calendar addresses, and the week on paper."""

from django.conf import settings
from django.db import models

from bom.kernel.runs import Run
from production.planning.models import Plan
from production.shop.models import WorkCentre


class CalendarAddress(models.Model):
    """An address at which a calendar program reads the released plan without a sign-in.

    Only a digest of the token is kept: the whole address is shown once, when it is made. Whoever has it can read
    what it serves until it is taken back.
    """

    digest = models.CharField(max_length=64, unique=True)
    begins = models.CharField(max_length=6, help_text="The token's first letters, to tell addresses apart.")
    work_centre = models.ForeignKey(
        WorkCentre,
        on_delete=models.CASCADE,
        null=True,
        blank=True,
        related_name="+",
        help_text="None serves dispatch: lorries and finished trailers.",
    )
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)
    read_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-made_at"]
        permissions = [("give_calendar", "May give and take back addresses of calendars")]

    def __str__(self) -> str:
        return f"calendar {self.begins}…"


class WeekPaper(Run):
    """The week of a plan drawn for the wall as one PDF, in the background."""

    key = models.CharField(max_length=80, unique=True)
    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="week_papers")
    monday = models.DateField()
    pdf = models.BinaryField(null=True)

    class Meta:
        ordering = ["-asked_at"]

    def __str__(self) -> str:
        return f"week of {self.monday}"
