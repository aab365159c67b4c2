"""Forms of the rule book and of the ratings of parts."""

from collections.abc import Mapping
from typing import Any

from django import forms

from bom.ratings.models import ComponentRating, ItemDuty, ModelFrame, RuleRow
from bom.ratings.rulebook import RuleChange
from bom.ratings.rules import Subject

DAY = {"type": "date"}


class RuleForm(forms.Form):
    """What a rule is to say; which fields there are follows from its subject."""

    value = forms.DecimalField(label="Figure", max_digits=12, decimal_places=4, min_value=0)
    word = forms.ChoiceField(label="Answer")
    edge = forms.ChoiceField(
        label="It bites",
        choices=[("over", "over the figure; equal is let off"), ("from", "from the figure on; equal counts")],
    )
    valid_from = forms.DateField(label="Holds from", widget=forms.DateInput(attrs=DAY, format="%Y-%m-%d"))
    clause = forms.CharField(label="Clause", max_length=160)
    source = forms.CharField(label="Read in", max_length=200)
    why = forms.CharField(label="Why it is changed", max_length=200)
    is_verified = forms.BooleanField(
        label="I have read the official text in force and put my name to it", required=False
    )

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        subject: Subject,
        initial: Mapping[str, Any] | None = None,
    ) -> None:
        super().__init__(data, initial=dict(initial or {}), label_suffix="")
        if subject.words:
            word = self.fields["word"]
            assert isinstance(word, forms.ChoiceField)
            word.choices = list(subject.words.items())
            del self.fields["value"]
        else:
            self.fields["value"].label = (
                f"Figure, {subject.unit}" if subject.unit != "×" else "Figure, as a share"
            )
            del self.fields["word"]
        if not subject.has_edge:
            del self.fields["edge"]

    def change(self) -> RuleChange:
        data = self.cleaned_data
        return RuleChange(
            value=data.get("value"),
            word=data.get("word", ""),
            edge=data.get("edge", ""),
            clause=data["clause"],
            source=data["source"],
            valid_from=data["valid_from"],
            is_verified=data["is_verified"],
        )


def initial_of(row: RuleRow | None) -> dict[str, Any]:
    """The form's values from the newest version; the reason and the name are always given anew."""
    if row is None:
        return {}
    names = ("value", "word", "edge", "clause", "source")
    return {name: getattr(row, name) for name in names}


class PartForm(forms.ModelForm):  # type: ignore[type-arg]
    """What a maker rates a part for."""

    class Meta:
        model = ComponentRating
        fields = ["kind", "capacity_kg", "is_braked", "load_index", "speed_symbol", "dc_kn", "s_kg"]
        labels = {
            "kind": "Kind",
            "capacity_kg": "Axle or wheel: carries, coupling: trailer's maximum mass, kg",
            "is_braked": "Has brakes; coupling: works overrun brakes",
            "load_index": "Tyre: load index",
            "speed_symbol": "Tyre: speed symbol",
            "dc_kn": "Coupling: Dc, kN",
            "s_kg": "Coupling: S, kg",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""


class FrameForm(forms.ModelForm):  # type: ignore[type-arg]
    """Where axle, post and supports may stand on a model; everything behind the centre of the coupling."""

    class Meta:
        model = ModelFrame
        fields = [
            "springs",
            "spread_mm",
            "drawbar_mm",
            "body_at_mm",
            "axle_from_mm",
            "axle_to_mm",
            "post_from_mm",
            "post_to_mm",
            "bow_behind_post_mm",
            "front_support_from_mm",
            "rear_support_mm",
            "transom_before_mm",
            "transom_beyond_mm",
            "is_measured",
        ]
        labels = {
            "springs": "Springs",
            "spread_mm": "Between the axles of a twin set, mm (one axle: 0)",
            "drawbar_mm": "Drawbar, mm",
            "body_at_mm": "Centre of gravity without axles and wheels, mm",
            "axle_from_mm": "Axle slots from, mm",
            "axle_to_mm": "Axle slots to, mm",
            "post_from_mm": "Winch post from, mm",
            "post_to_mm": "Winch post to, mm",
            "bow_behind_post_mm": "Bow stop behind the post, mm",
            "front_support_from_mm": "Front support from, mm",
            "rear_support_mm": "Rear support, mm",
            "transom_before_mm": "Transom before the rear support at most, mm",
            "transom_beyond_mm": "Transom beyond the rear support at most, mm",
            "is_measured": "Centre of gravity was weighed",
        }
        help_texts = dict.fromkeys(("spread_mm", "is_measured"), "")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""


class DutyForm(forms.ModelForm):  # type: ignore[type-arg]
    """What a part is for, and how many one piece counts for."""

    count = forms.IntegerField(label="One piece counts for", min_value=1, max_value=20, initial=1)

    class Meta:
        model = ItemDuty
        fields = ["duty", "count"]
        labels = {"duty": "Counts as"}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
