"""The range: models with what they offer at which price, the rules between options; out to a file and in again."""

from dataclasses import dataclass
from decimal import Decimal

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_GET, require_http_methods

from bom.catalogue.configuring import Offer, Range, load_range
from bom.catalogue.explaining import in_words
from bom.catalogue.files import RANGE
from bom.catalogue.models import Finish, TrailerModel
from bom.items.sheet_views import bring_in_page, tables_out
from bom.kernel.pages import needs, page


@dataclass(frozen=True)
class ChoiceRow:
    """One choice with what each model asks for it; none where a model does not offer it."""

    code: str
    name: str
    offers: tuple[Offer | None, ...]


@dataclass(frozen=True)
class GroupRows:
    """One option group with its choices."""

    code: str
    name: str
    is_required: bool
    choices: tuple[ChoiceRow, ...]


@require_GET
def options(request: HttpRequest) -> HttpResponse:
    """Every model with base price, finishes, offers, and the rules. Six queries."""
    catalogue = load_range()
    models = list(catalogue.models.values())
    context = {
        "models": models,
        "finishes": [(finish.label, _finish_prices(finish, models, catalogue)) for finish in Finish],
        "groups": [_group(code, models, catalogue) for code in catalogue.groups],
        "rules": [
            (rule, in_words(rule.when, catalogue), in_words(rule.then, catalogue)) for rule in catalogue.rules
        ],
        "tables": [one.table for one in RANGE.sheets()],
    }
    return page(request, "catalogue/options.html", context)


@require_GET
def out(request: HttpRequest) -> HttpResponse:
    """Options and prices as a workbook, or one table as CSV."""
    return tables_out(request, RANGE)


@require_http_methods(["GET", "POST"])
@needs("bom.import_range")
def bring_in(request: HttpRequest) -> HttpResponse:
    return bring_in_page(request, RANGE, "catalogue/bring_in.html", "range:options")


def _finish_prices(finish: Finish, models: list[TrailerModel], catalogue: Range) -> list[Decimal | None]:
    return [catalogue.finishes.get(model.code, {}).get(finish.value) for model in models]


def _group(code: str, models: list[TrailerModel], catalogue: Range) -> GroupRows:
    group = catalogue.groups[code]
    rows = tuple(
        ChoiceRow(
            choice, name, tuple(catalogue.offers.get(model.code, {}).get((code, choice)) for model in models)
        )
        for choice, name in catalogue.choices[code].items()
    )
    return GroupRows(code, group.name, group.is_required, rows)
