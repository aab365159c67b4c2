"""Job cards: the paper that goes with parts, who worked on it how long, and what went wrong."""

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from bom.items.models import Item
from bom.kernel.runs import Run
from bom.structure.models import Process
from production.shop.models import WorkCentre
from production.works.models import WorksOperation


class JobCard(models.Model):
    """A card goes with parts that travel together through one process.

    Usually it holds all parts of one operation of a works order. It may be split, where some parts go ahead, and
    joined with another, where parts of two orders share a trolley. What must be done again gets a card of its own
    that `follows` the first. An operation is done when its last card is (see `production.works.cards`).
    """

    class State(models.TextChoices):
        WAITING = "waiting", "waiting"
        BEGUN = "begun", "begun"
        DONE = "done", "done"
        JOINED = "joined", "joined to another"
        CANCELLED = "cancelled", "cancelled"

    class Kind(models.TextChoices):
        USUAL = "usual", "job"
        REWORK = "rework", "rework"
        AGAIN = "again", "make again"

    number = models.CharField(max_length=12, unique=True)
    process = models.ForeignKey(Process, on_delete=models.PROTECT, related_name="job_cards")
    kind = models.CharField(max_length=8, choices=Kind, default=Kind.USUAL)
    state = models.CharField(max_length=10, choices=State, default=State.WAITING)
    follows = models.ForeignKey(
        "self",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="followers",
        help_text="The card it was split from, or whose parts it puts right.",
    )
    reason = models.CharField(max_length=200, blank=True, help_text="Why parts are done again.")
    made_at = models.DateTimeField(auto_now_add=True)
    began_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["number"]
        indexes = [models.Index(fields=["process", "state"], name="card_process_state")]

    def __str__(self) -> str:
        return self.number

    @property
    def is_open(self) -> bool:
        return self.state in (self.State.WAITING, self.State.BEGUN)


class CardLine(models.Model):
    """So many pieces of an item, of one operation, on a card; what of them came out good and what was spoilt."""

    card = models.ForeignKey(JobCard, on_delete=models.CASCADE, related_name="lines")
    operation = models.ForeignKey(WorksOperation, on_delete=models.CASCADE, related_name="card_lines")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    pieces = models.DecimalField(max_digits=12, decimal_places=4)
    good = models.DecimalField(max_digits=12, decimal_places=4, default=Decimal(0))
    to_mend = models.DecimalField(max_digits=12, decimal_places=4, default=Decimal(0))
    spoilt = models.DecimalField(max_digits=12, decimal_places=4, default=Decimal(0))

    class Meta:
        ordering = ["card", "id"]
        constraints = [
            models.UniqueConstraint(fields=["card", "operation", "item"], name="card_line_once"),
            models.CheckConstraint(condition=Q(pieces__gt=0), name="card_pieces_above_zero"),
            models.CheckConstraint(
                condition=Q(good__gte=0, to_mend__gte=0, spoilt__gte=0)
                & Q(good__lte=F("pieces") - F("to_mend") - F("spoilt")),
                name="card_counts_within_pieces",
                violation_error_message="Good, to mend and spoilt together are at most the pieces on the card.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.pieces} {self.item_id}"


class WorkTime(models.Model):
    """One person's unbroken time on one card at one station.

    A person works on one card at a time: starting another stops the first, so that no minute counts twice. `minutes`
    is written when it stops, and is what the times are added up from.
    """

    class Ended(models.TextChoices):
        RUNNING = "", "running"
        DONE = "done", "done"
        STOPPED = "stopped", "stopped"
        OTHER = "other", "went on to another card"
        PROBLEM = "problem", "stopped by a problem"

    card = models.ForeignKey(JobCard, on_delete=models.PROTECT, related_name="times")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="work_times")
    work_centre = models.ForeignKey(
        WorkCentre, on_delete=models.PROTECT, null=True, blank=True, related_name="work_times"
    )
    started_at = models.DateTimeField()
    stopped_at = models.DateTimeField(null=True, blank=True)
    ended = models.CharField(max_length=8, choices=Ended, default=Ended.RUNNING, blank=True)
    minutes = models.DecimalField(max_digits=8, decimal_places=2, default=Decimal(0))

    class Meta:
        ordering = ["-started_at", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["person"], condition=Q(stopped_at__isnull=True), name="one_running_time_a_person"
            ),
            models.CheckConstraint(
                condition=Q(stopped_at__isnull=True) | Q(stopped_at__gte=F("started_at")),
                name="work_time_stops_after_it_starts",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person_id} on {self.card_id}"


class WorkProblem(models.Model):
    """What went wrong at a card, in the words of who saw it, with a photo where one was taken.

    The photo lies in the folder of media, named by its own hash; its type is what its first bytes say, never what
    the device claimed.
    """

    class Kind(models.TextChoices):
        PART_MISSING = "missing", "a part is missing"
        PART_WRONG = "wrong", "a part is wrong or damaged"
        DRAWING = "drawing", "the drawing or list is wrong"
        MACHINE = "machine", "a machine or tool stands"
        OTHER = "other", "something else"

    key = models.CharField(max_length=80, unique=True)
    card = models.ForeignKey(JobCard, on_delete=models.PROTECT, related_name="problems")
    kind = models.CharField(max_length=10, choices=Kind)
    words = models.CharField(max_length=200)
    stops_work = models.BooleanField(default=False)
    photo = models.FileField(max_length=120, blank=True)
    photo_type = models.CharField(max_length=20, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)
    solved_at = models.DateTimeField(null=True, blank=True)
    solved_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    answer = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["-at", "-id"]
        permissions = [("solve_problem", "May settle problems that the floor reports")]

    def __str__(self) -> str:
        return self.words


class CardPaper(Run):
    """Job cards drawn as one PDF in the background, on A5 or A4."""

    class Size(models.TextChoices):
        A5 = "a5", "A5"
        A4 = "a4", "A4"

    key = models.CharField(max_length=80, unique=True)
    size = models.CharField(max_length=2, choices=Size, default=Size.A5)
    cards = models.ManyToManyField(JobCard, related_name="papers")
    pdf = models.BinaryField(null=True)

    class Meta:
        ordering = ["-asked_at"]

    def __str__(self) -> str:
        return f"job cards {self.pk}"
