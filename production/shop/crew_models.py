"""Who and what the stations share: people with skills, their absences, jigs and their repairs."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from bom.catalogue.models import TrailerModel
from bom.structure.models import Process
from production.shop.models import Calendar


class Skill(models.Model):
    """What somebody must be able to do so that operations of a process may run.

    As long as nobody has the skill, the process asks for nobody: then only its work centre's units count.
    """

    code = models.SlugField(max_length=20, unique=True)
    name = models.CharField(max_length=60)
    process = models.OneToOneField(Process, on_delete=models.PROTECT, related_name="skill")

    class Meta:
        ordering = ["process__sequence", "code"]

    def __str__(self) -> str:
        return self.name


class Worker(models.Model):
    """Somebody of the shop floor: when he works, and what he can do. Not a sign-in."""

    name = models.CharField(max_length=60, unique=True)
    calendar = models.ForeignKey(Calendar, on_delete=models.PROTECT, related_name="workers")
    skills = models.ManyToManyField(Skill, related_name="workers", blank=True)
    is_active = models.BooleanField(default=True, help_text="Works here; the plan counts on him.")

    class Meta:
        ordering = ["name"]
        permissions = [("change_shop", "May enter people, absences, jigs and what stands")]

    def __str__(self) -> str:
        return self.name


class Absence(models.Model):
    """A worker is away from one moment to another."""

    worker = models.ForeignKey(Worker, on_delete=models.CASCADE, related_name="absences")
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    reason = models.CharField(max_length=80)
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["starts_at", "worker"]
        constraints = [
            models.CheckConstraint(
                condition=Q(starts_at__lt=F("ends_at")),
                name="absence_starts_before_it_ends",
                violation_error_message="An absence must start before it ends.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.worker}: {self.reason}"


class Jig(models.Model):
    """A weld jig, of which there may be several alike. Trailers of its models are welded in it."""

    code = models.SlugField(max_length=20, unique=True)
    name = models.CharField(max_length=60)
    units = models.PositiveSmallIntegerField(default=1)
    models = models.ManyToManyField(TrailerModel, related_name="jigs", blank=True)

    class Meta:
        ordering = ["code"]
        constraints = [
            models.CheckConstraint(
                condition=Q(units__gte=1),
                name="jig_has_a_unit",
                violation_error_message="There must be at least one of a jig.",
            )
        ]

    def __str__(self) -> str:
        return self.name


class JigRepair(models.Model):
    """Some of a kind of jig, or all, cannot be used from one moment to another."""

    jig = models.ForeignKey(Jig, on_delete=models.CASCADE, related_name="repairs")
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    units = models.PositiveSmallIntegerField(null=True, blank=True, help_text="None means all of them.")
    reason = models.CharField(max_length=80)

    class Meta:
        ordering = ["starts_at"]
        constraints = [
            models.CheckConstraint(
                condition=Q(starts_at__lt=F("ends_at")),
                name="jig_repair_starts_before_it_ends",
                violation_error_message="A repair must start before it ends.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.jig}: {self.reason}"
