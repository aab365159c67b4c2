"""Papers of a galvanising load: those drawn for the galvaniser, and the certificate that he sends."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from bom.kernel.runs import Run
from production.coating.models import GalvanisingLoad


class LoadPaper(Run):
    """A paper of a load, drawn in the background: the dispatch note that goes with the lorry, or the claim."""

    class Kind(models.TextChoices):
        NOTE = "note", "dispatch note"
        CLAIM = "claim", "claim"

    key = models.CharField(max_length=80, unique=True)
    load = models.ForeignKey(GalvanisingLoad, on_delete=models.CASCADE, related_name="papers")
    kind = models.CharField(max_length=6, choices=Kind)
    pdf = models.BinaryField(null=True)

    class Meta:
        ordering = ["-asked_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of load {self.load_id}"


class Certificate(models.Model):
    """What the galvaniser certifies of a load, as he sent it. Never changed; one filed by mistake is withdrawn.

    The file lies in the folder of media, named by its own hash; its type is what its first bytes say.
    """

    key = models.CharField(max_length=80, unique=True)
    load = models.ForeignKey(GalvanisingLoad, on_delete=models.PROTECT, related_name="certificates")
    number = models.CharField(max_length=40, help_text="As the galvaniser numbers it.")
    mean_um = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Mean coating thickness that it states, µm."
    )
    file = models.FileField(max_length=120)
    file_type = models.CharField(max_length=20)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)
    withdrawn_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_why = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["load", "at"]
        constraints = [
            models.UniqueConstraint(
                fields=["load", "number"],
                condition=Q(withdrawn_at__isnull=True),
                name="certificate_once_a_load",
                violation_error_message="This certificate is filed with the load already.",
            )
        ]

    def __str__(self) -> str:
        return self.number
