"""Every page of the workshop by its address, with something real in the place of each number."""

from collections.abc import Iterator

from django.urls import NoReverseMatch, URLPattern, URLResolver, get_resolver, reverse

from bom.catalogue.models import TrailerModel
from bom.geometry.drawing_models import DrawingRead
from bom.geometry.models import BendValue
from bom.items.models import Item
from bom.structure.models import Process
from inventory.buying.models import PurchaseOrder, SupplierItem
from inventory.stock.models import Posting
from inventory.stores.models import CountSheet
from production.cutting.models import CutBatch
from production.dispatch.models import Source
from production.orders.models import Order
from production.planning.models import Plan
from production.shop.crew_models import Jig, Worker
from production.works.card_models import JobCard


def _patterns(resolver: URLResolver, namespace: str = "") -> Iterator[tuple[str, URLPattern]]:
    for entry in resolver.url_patterns:
        if isinstance(entry, URLResolver):
            inner = ":".join(part for part in (namespace, entry.namespace) if part)
            yield from _patterns(entry, inner)
        elif entry.name:
            yield (f"{namespace}:{entry.name}" if namespace else entry.name), entry


def named_patterns() -> list[tuple[str, URLPattern]]:
    """Every named address but those of Django's own administration."""
    return [(name, entry) for name, entry in _patterns(get_resolver()) if not name.startswith("admin:")]


def samples() -> dict[str, list[object]]:
    """For each word that stands in an address, values that exist."""
    batch = CutBatch.objects.filter(state__in=CutBatch.OPEN).first() or CutBatch.objects.first()
    plan = Plan.objects.filter(is_current=True).first()
    draft = Order.objects.filter(state="draft").first()
    order = Order.objects.filter(state__in=Order.OPEN).order_by("pk").first()
    purchase = PurchaseOrder.objects.first()
    posting = Posting.objects.first()
    item = Item.objects.filter(kind="bought").first()
    sold = SupplierItem.objects.select_related("supplier", "item").first()
    hollow = Item.objects.filter(code__startswith="CH-").last()
    process = Process.objects.filter(code="weld").first()
    model = TrailerModel.objects.first()
    sheet = CountSheet.objects.first()
    found: dict[str, list[object]] = {
        "model": [model.code] if model else [],
        "number": [value.number for value in (order, draft, batch, plan, purchase, sheet) if value],
        "code": [
            *(value.code for value in (item, hollow) if value),
            *([sold.supplier.code] if sold else []),
            *(jig.code for jig in Jig.objects.all()[:1]),
        ],
        "item": [sold.item.code] if sold else [],
        "process": [process.code] if process else [],
        "plan": [plan.number] if plan else [],
        "other": [plan.number] if plan else [],
        "pk": [posting.pk] if posting else [],
        "sheet": [1],
        "card": [card.number for card in JobCard.objects.all()[:1]],
        "trouble": [1],
        "paper": [1],
        "source": [value.pk for value in Source.objects.all()[:1]],
        "drawing": [read.pk for read in DrawingRead.objects.all()[:1]],
        "row": [
            *(value.pk for value in BendValue.objects.all()[:1]),
            *(worker.pk for worker in Worker.objects.all()[:1]),
        ],
        "what": ["absence"],
    }
    return found


def every_page() -> list[str]:
    """Addresses that answer a plain GET: those without a number, and one of each kind with one."""
    values = samples()
    pages = []
    for name, entry in named_patterns():
        for arguments in _arguments(entry, values, name):
            try:
                pages.append(reverse(name, kwargs=arguments))
            except NoReverseMatch:
                continue
    return sorted(set(pages))


def _arguments(entry: URLPattern, values: dict[str, list[object]], name: str) -> Iterator[dict[str, object]]:
    words = list(entry.pattern.converters)
    if not words:
        yield {}
        return
    for value in values.get(words[0], []):
        yield {words[0]: value, **{word: (values.get(word) or [1])[0] for word in words[1:]}}
