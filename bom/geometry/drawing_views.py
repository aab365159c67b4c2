"""Pages of drawing files: brought in and looked at, accepted, the table of layers, and files out."""

import io
import zipfile
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from bom.geometry import drawings, layers
from bom.geometry.drawing_forms import DrawingForm, KeyForm, LayerForm, UnitForm
from bom.geometry.drawing_models import DrawingRead, LayerRule
from bom.geometry.drawing_tables import FlatPartFilter, FlatPartTable, ReadTable
from bom.geometry.dxf.paths import TOLERANCE_MM
from bom.geometry.files_out import LIST_HEADER, list_rows, part_text
from bom.geometry.models import FlatPart
from bom.geometry.read_sheet import read_sheet
from bom.geometry.reading_runs import runner
from bom.items.models import Item
from bom.kernel import exporting
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, page
from bom.kernel.tables import table_page
from bom.people.models import User

MOST_IN_A_SET = 500


def _person(request: HttpRequest) -> User | None:
    return request.user if isinstance(request.user, User) else None


@require_http_methods(["GET", "POST"])
@needs("bom.draw_part")
def bring_in(request: HttpRequest, code: str) -> HttpResponse:
    """Choose a file for an item; it is kept and read in the background, and nothing of the item changes."""
    item = get_object_or_404(Item.objects.select_related("flat_part"), code=code)
    form = DrawingForm(request.POST or None, request.FILES or None, initial=_of(item))
    problems: tuple[Problem, ...] = ()
    if request.method == "POST" and form.is_valid():
        file = form.cleaned_data["file"]
        try:
            read = drawings.ask_for_reading(
                item=item,
                content=file.read(drawings.MOST_BYTES + 1),
                file_name=file.name or "drawing.dxf",
                grade=form.cleaned_data["grade"],
                thickness_mm=form.cleaned_data["thickness_mm"],
                unit_if_unstated=form.cleaned_data["unit"],
                by=_person(request),
                key=form.cleaned_data["key"],
            )
            return redirect("geometry:reading", read.pk)
        except ProblemError as error:
            problems = error.problems
    status = 422 if form.is_bound else 200
    context = {"item": item, "form": form, "problems": problems, "most_mb": drawings.MOST_BYTES // 1_000_000}
    return page(request, "geometry/bring_in.html", context, status=status)


def _of(item: Item) -> dict[str, Any]:
    part = getattr(item, "flat_part", None)
    return {
        "grade": part.grade if part else item.grade,
        "thickness_mm": part.thickness_mm if part else item.thickness_mm,
    }


@require_GET
def reading(request: HttpRequest, drawing: int) -> HttpResponse:
    """One reading: how far it is, then the drawing with what is wrong. When it has just ended, htmx loads it anew."""
    read = get_object_or_404(DrawingRead.objects.select_related("item", "accepted_by"), pk=drawing)
    asks_for_part = bool(getattr(request, "htmx", False))
    response = _reading(request, read)
    if asks_for_part and not read.is_open:
        response["HX-Refresh"] = "true"
    return response


@require_POST
@needs("bom.draw_part")
def accept(request: HttpRequest, drawing: int) -> HttpResponse:
    """Take over what was found."""
    read = get_object_or_404(DrawingRead.objects.select_related("item"), pk=drawing)
    by = _person(request)
    try:
        if by is None:
            raise ProblemError(Problem("Nobody is signed in", mend="Sign in and do it again"))
        drawings.accept_reading(read=read, by=by)
    except ProblemError as error:
        return _reading(request, read, {"problems": error.problems}, status=409)
    messages.success(request, f"{read.item.code} is drawn from {read.file_name} from now on.")
    return redirect("geometry:part", read.item.code)


@require_POST
@needs("bom.draw_part")
def again(request: HttpRequest, drawing: int) -> HttpResponse:
    """Read the same file once more, under the table of layers and the unit of now."""
    read = get_object_or_404(DrawingRead.objects.select_related("item"), pk=drawing)
    form = UnitForm(request.POST)
    if not form.is_valid():
        return _reading(request, read, {"unit_form": form}, status=422)
    try:
        anew = drawings.read_again(
            read=read,
            unit_if_unstated=form.cleaned_data["unit"],
            by=_person(request),
            key=form.cleaned_data["key"],
        )
    except ProblemError as error:
        return _reading(request, read, {"problems": error.problems}, status=409)
    return redirect("geometry:reading", anew.pk)


@require_POST
@needs("bom.draw_part")
def stop(request: HttpRequest, drawing: int) -> HttpResponse:
    """Stop a reading that waits or runs."""
    read = get_object_or_404(DrawingRead, pk=drawing)
    runner.ask_to_stop(read)
    return redirect("geometry:reading", read.pk)


@require_GET
def readings(request: HttpRequest) -> HttpResponse:
    """Every drawing file that was looked at, latest first."""
    return table_page(
        request,
        table_class=ReadTable,
        queryset=DrawingRead.objects.select_related("item", "asked_by"),
        template="geometry/readings.html",
        export_name="drawing-files",
    )


@require_GET
def flat_parts(request: HttpRequest) -> HttpResponse:
    """Every flat part, with filter, and the files of those shown as one set."""
    return table_page(
        request,
        table_class=FlatPartTable,
        queryset=FlatPart.objects.select_related("item"),
        filterset_class=FlatPartFilter,
        template="geometry/flat_parts.html",
        export_name="flat-parts",
    )


@require_GET
def file_out(request: HttpRequest, code: str) -> HttpResponse:
    """One part as DXF."""
    part = get_object_or_404(FlatPart.objects.select_related("item"), item__code=code)
    return _download(part_text(part).encode("ascii"), "image/vnd.dxf", f"{code}.dxf")


@require_GET
def set_out(request: HttpRequest) -> HttpResponse:
    """The parts that the filter shows, one DXF each and a list beside them, in a zip: ready to be nested elsewhere."""
    chosen = FlatPartFilter(request.GET, queryset=FlatPart.objects.select_related("item"))
    parts = list(
        chosen.qs.prefetch_related("contours", "fold_lines", "marks").order_by("item__code")[:MOST_IN_A_SET]
    )
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as package:
        for part in parts:
            package.writestr(f"{part.item.code}.dxf", part_text(part))
        package.writestr("parts.xlsx", exporting.workbook("parts", LIST_HEADER, list_rows(parts)))
    return _download(buffer.getvalue(), "application/zip", f"flat-parts-{timezone.localdate():%Y-%m-%d}.zip")


@require_http_methods(["GET", "POST"])
def layer_table(request: HttpRequest) -> HttpResponse:
    """What each layer of a drawing file is for."""
    if request.method == "POST":
        return _write_layer(request)
    return _layers(request, LayerForm())


@needs("bom.set_geometry_rule")
def _write_layer(request: HttpRequest) -> HttpResponse:
    if "usual" in request.POST:
        messages.success(request, f"{layers.put_in_usual_layers()} rows are new.")
        return redirect("geometry:layers")
    if taken := request.POST.get("take_out"):
        LayerRule.objects.filter(name=taken).delete()
        return redirect("geometry:layers")
    known = LayerRule.objects.filter(name__iexact=request.POST.get("name", "").strip()).first()
    form = LayerForm(request.POST, instance=known)
    if not form.is_valid():
        return _layers(request, form, status=422)
    if not LayerRule.objects.exists():
        # The usual rows held until now; the first row of one's own must not put them out of force.
        layers.put_in_usual_layers()
        form.instance = LayerRule.objects.filter(name__iexact=form.instance.name).first() or form.instance
        form.instance.role = form.cleaned_data["role"]
    form.save()
    messages.success(request, f"{form.instance}.")
    return redirect("geometry:layers")


def _layers(request: HttpRequest, form: LayerForm, *, status: int = 200) -> HttpResponse:
    context = {"form": form, "rows": LayerRule.objects.all(), "usual": layers.USUAL_LAYERS}
    return page(request, "geometry/layers.html", context, status=status)


def _reading(
    request: HttpRequest, read: DrawingRead, more: dict[str, Any] | None = None, *, status: int = 200
) -> HttpResponse:
    context: dict[str, Any] = {
        "read": read,
        "flaws": list(read.flaws.all()),
        "layers": list(read.layers.all()),
        "curves": list(read.curves.all()),
        "tolerance_mm": TOLERANCE_MM,
        "sheet": None if read.is_open else read_sheet(read),
        "unit_form": UnitForm(initial={"unit": read.unit_if_unstated}),
        "key_form": KeyForm(),
        **(more or {}),
    }
    return page(
        request, "geometry/reading.html", context, part="geometry/_reading_progress.html", status=status
    )


def _download(content: bytes, kind: str, name: str) -> HttpResponse:
    response = HttpResponse(content, content_type=kind)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
