"""The table of layers: what each layer of a drawing file is for."""

from django.db import transaction

from bom.geometry.drawing_models import LayerRule

USUAL_LAYERS = (
    ("0", "cut"),
    ("cut*", "cut"),
    ("mark*", "mark"),
    ("engrave*", "mark"),
    ("bend*", "bend"),
    ("fold*", "bend"),
    ("dim*", "ignore"),
    ("text*", "ignore"),
    ("frame*", "ignore"),
    ("defpoints", "ignore"),
)
"""The table to begin with (common practice, no source)."""


def layer_rules() -> dict[str, str]:
    """The table by name in small letters; the usual one while it is empty."""
    rows = dict(LayerRule.objects.values_list("name", "role")) or dict(USUAL_LAYERS)
    return {name.casefold(): role for name, role in rows.items()}


@transaction.atomic
def put_in_usual_layers() -> int:
    """Fill the table where a name has no row. Returns how many are new."""
    known = {name.casefold() for name in LayerRule.objects.values_list("name", flat=True)}
    new = [LayerRule(name=name, role=role) for name, role in USUAL_LAYERS if name not in known]
    return len(LayerRule.objects.bulk_create(new))
