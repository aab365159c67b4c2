"""The house rules that no tool checks: what may import what, and which way rows may point."""

import importlib.util
import pkgutil
import subprocess
import sys

import pytest
from django.apps import apps

FLOORS = ["bom", "inventory", "production"]
PURE = [
    "bom.kernel.errors",
    "bom.kernel.gs1",
    "bom.kernel.quantities",
    "bom.kernel.scans",
    "bom.structure.conditions",
    "bom.structure.expansion",
    "bom.structure.differing",
    "bom.structure.where_used",
    "bom.costing.coating",
    "bom.costing.costs",
    "bom.costing.masses",
    "bom.geometry.bending",
    "bom.geometry.dxf",
    "bom.geometry.outlines",
    "bom.geometry.sections",
    "bom.geometry.shapes",
    "bom.geometry.sketching",
    "bom.geometry.strips",
    "bom.geometry.venting",
    "inventory.buying.measured",
    "inventory.buying.pricing",
    "bom.ratings.checks",
    "bom.ratings.drawing",
    "bom.ratings.set_up",
    "bom.ratings.shipped",
    "inventory.levels.arithmetic",
    "inventory.levels.counts",
    "inventory.levels.days",
    "inventory.levels.demand",
    "inventory.levels.forecasting",
    "inventory.levels.lotsizing",
    "inventory.stock.costs",
    "inventory.stock.classes",
    "inventory.stock.sharing",
    "production.planning.alerting.news",
    "production.assembly.torques",
    "production.dispatch.vin",
    "production.planning.netting",
    "production.coating.changes",
    "production.coating.load_drawing",
    "production.cutting.nesting",
    "production.cutting.bars",
    "production.scheduling.solver",
    "production.scheduling.asked.trying",
    "production.scheduling.asked.sealing",
    "production.scheduling.futures",
    "production.scheduling.follow.indicators",
]
HEAVY = ["ortools", "spyrrow", "shapely", "ezdxf", "typst", "numpy", "scipy", "pandas", "statsmodels"]


def _modules_after(code: str) -> set[str]:
    out = subprocess.run(
        [sys.executable, "-c", f"{code}\nimport sys; print('\\n'.join(sys.modules))"],
        capture_output=True,
        text=True,
        check=True,
    )
    return set(out.stdout.split())


def _with_submodules(name: str) -> list[str]:
    spec = importlib.util.find_spec(name)
    assert spec is not None, name
    if spec.submodule_search_locations is None:
        return [name]
    found = pkgutil.walk_packages(spec.submodule_search_locations, prefix=f"{name}.")
    return [name, *(module.name for module in found if not module.name.endswith("__main__"))]


@pytest.mark.parametrize("name", PURE)
def test_arithmetic_imports_without_django(name):
    loaded = _modules_after("\n".join(f"import {module}" for module in _with_submodules(name)))

    assert name in loaded
    assert not {"django", "celery"} & loaded


def test_the_web_process_loads_no_solver():
    # openpyxl takes numpy where it finds it; hidden from all, only code of our own that needs it would fail.
    loaded = _modules_after(
        "import sys; sys.modules['numpy'] = None\n"
        "import os; os.environ['DJANGO_SETTINGS_MODULE'] = 'production.config.settings_test'\n"
        "import django; django.setup()\n"
        "import production.config.urls, production.config.wsgi"
    )

    assert "production.config.urls" in loaded
    assert not (set(HEAVY) - {"numpy"}) & loaded


def test_rows_point_down_only():
    upward = [
        f"{model.__name__}.{field.name} → {field.related_model.__name__}"
        for model in apps.get_models()
        if model._meta.app_label in FLOORS
        for field in model._meta.get_fields()
        if field.many_to_one
        or (field.one_to_one and field.concrete)
        or (field.many_to_many and field.concrete)
        if field.related_model._meta.app_label in FLOORS
        if FLOORS.index(field.related_model._meta.app_label) > FLOORS.index(model._meta.app_label)
    ]

    assert upward == []


def test_every_constraint_has_a_name_of_its_own():
    names = [
        constraint.name
        for model in apps.get_models()
        if model._meta.app_label in FLOORS
        for constraint in model._meta.constraints
    ]

    assert len(names) > 30
    assert len(names) == len(set(names))


def test_no_generic_foreign_keys_and_no_json():
    fields = [
        f"{model.__name__}.{field.name}"
        for model in apps.get_models()
        if model._meta.app_label in FLOORS
        for field in model._meta.get_fields()
        if type(field).__name__ in {"GenericForeignKey", "JSONField"}
    ]

    assert fields == []
