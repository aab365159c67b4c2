"""All tables at once: a new workshop is made without walking through the history of its tables."""

import django.core.validators
import django.db.models.deletion
import django.db.models.expressions
import django.db.models.functions.comparison
from decimal import Decimal
from django.conf import settings
from django.db import migrations, models

from bom.kernel.first_tables import FirstTables

from production.dispatch.triggers import add_sealed, drop_sealed, keep


KEPT = (
    "production_checkresult",
    "production_clearance",
    "production_serialplate",
    "production_origin",
    "production_builtrow",
    "production_seal",
    "production_owner",
    "production_papertemplate",
)


TABLES = [
    migrations.CreateModel(
        name="Calendar",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("code", models.SlugField(max_length=20, unique=True)),
            ("name", models.CharField(max_length=60)),
        ],
        options={
            "ordering": ["code"],
        },
    ),
    migrations.CreateModel(
        name="CutBatch",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("number", models.CharField(max_length=20, unique=True)),
            ("grade", models.CharField(max_length=20)),
            ("thickness_mm", models.DecimalField(decimal_places=2, max_digits=6)),
            (
                "state",
                models.CharField(
                    choices=[
                        ("proposed", "proposed"),
                        ("released", "released"),
                        ("begun", "begun"),
                        ("done", "done"),
                        ("dropped", "dropped"),
                    ],
                    default="proposed",
                    max_length=10,
                ),
            ),
            ("needed_on", models.DateField(help_text="The first day an order needs a part of it.")),
            ("starts_at", models.DateTimeField(blank=True, null=True)),
            ("ends_at", models.DateTimeField(blank=True, null=True)),
            ("minutes", models.DecimalField(decimal_places=1, default=0, max_digits=8)),
            ("use", models.DecimalField(decimal_places=4, default=0, max_digits=5)),
            (
                "bound_sheets",
                models.DecimalField(
                    decimal_places=3,
                    default=0,
                    help_text="No layout can use fewer sheets than this.",
                    max_digits=8,
                ),
            ),
            ("gap_mm", models.DecimalField(decimal_places=1, default=5, max_digits=5)),
            ("margin_mm", models.DecimalField(decimal_places=1, default=10, max_digits=5)),
        ],
        options={
            "verbose_name_plural": "cut batches",
            "ordering": ["starts_at", "number"],
            "permissions": [
                ("cut_sheets", "May cut sheets and count parts at the laser"),
                ("clear_stops", "May decide on parts that changed after they were laid out"),
            ],
        },
    ),
    migrations.CreateModel(
        name="GalvanisingLoad",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("number", models.CharField(max_length=20, unique=True)),
            (
                "state",
                models.CharField(
                    choices=[
                        ("proposed", "proposed"),
                        ("released", "released"),
                        ("away", "away"),
                        ("back", "back"),
                        ("dropped", "dropped"),
                    ],
                    default="proposed",
                    max_length=10,
                ),
            ),
            ("leaves_at", models.DateTimeField()),
            ("back_at", models.DateTimeField()),
            ("max_kg", models.PositiveIntegerField()),
            ("minimum_charge_kg", models.PositiveIntegerField(default=0)),
            ("bath_length_mm", models.PositiveIntegerField()),
            ("left_at", models.DateTimeField(blank=True, null=True)),
            ("came_back_at", models.DateTimeField(blank=True, null=True)),
            (
                "weighed_out_kg",
                models.DecimalField(
                    blank=True,
                    decimal_places=1,
                    help_text="Weighed black, before the bath.",
                    max_digits=10,
                    null=True,
                ),
            ),
            (
                "weighed_back_kg",
                models.DecimalField(
                    blank=True,
                    decimal_places=1,
                    help_text="Weighed with its zinc.",
                    max_digits=10,
                    null=True,
                ),
            ),
        ],
        options={
            "ordering": ["leaves_at", "number"],
            "permissions": [("coat_parts", "May send and receive galvanising loads and run powder batches")],
        },
    ),
    migrations.CreateModel(
        name="Hull",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("name", models.CharField(max_length=80)),
            ("mass_kg", models.PositiveIntegerField()),
            ("length_mm", models.PositiveIntegerField()),
            ("beam_mm", models.PositiveIntegerField()),
            ("bow_to_transom_mm", models.PositiveIntegerField()),
            (
                "centre_of_gravity_mm",
                models.PositiveIntegerField(blank=True, help_text="From the transom, forward.", null=True),
            ),
            (
                "is_measured",
                models.BooleanField(default=False, help_text="Centre of gravity measured, not estimated."),
            ),
            (
                "keel",
                models.CharField(
                    blank=True,
                    choices=[
                        ("", "not written down"),
                        ("flat", "flat bottom"),
                        ("shallow_vee", "shallow vee"),
                        ("deep_vee", "deep vee"),
                        ("long", "long keel"),
                        ("fin", "fin keel"),
                        ("bilge", "bilge keels"),
                        ("two_hulls", "two hulls"),
                    ],
                    default="",
                    max_length=12,
                ),
            ),
            (
                "chine",
                models.CharField(
                    blank=True,
                    choices=[
                        ("", "not written down"),
                        ("hard", "hard chine"),
                        ("round", "round bilge"),
                        ("stepped", "stepped bottom"),
                    ],
                    default="",
                    max_length=12,
                ),
            ),
            (
                "gear_kg",
                models.PositiveIntegerField(
                    default=0, help_text="Fuel, anchor and the like, not in the mass."
                ),
            ),
            (
                "gear_at_mm",
                models.PositiveIntegerField(
                    blank=True, help_text="Where the gear lies, from the transom, forward.", null=True
                ),
            ),
        ],
        options={
            "ordering": ["name"],
        },
    ),
    migrations.CreateModel(
        name="Kit",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "state",
                models.CharField(
                    choices=[
                        ("waiting", "waiting"),
                        ("begun", "begun"),
                        ("done", "complete"),
                        ("cancelled", "cancelled"),
                    ],
                    default="waiting",
                    max_length=10,
                ),
            ),
            ("completed_at", models.DateTimeField(blank=True, null=True)),
            (
                "bay",
                models.PositiveSmallIntegerField(
                    blank=True, help_text="The assembly bay that took it.", null=True
                ),
            ),
        ],
        options={
            "ordering": ["order"],
        },
    ),
    migrations.CreateModel(
        name="LorryDay",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "weekday",
                models.PositiveSmallIntegerField(
                    choices=[
                        (0, "Monday"),
                        (1, "Tuesday"),
                        (2, "Wednesday"),
                        (3, "Thursday"),
                        (4, "Friday"),
                        (5, "Saturday"),
                        (6, "Sunday"),
                    ],
                    unique=True,
                ),
            ),
            ("leaves_at", models.TimeField()),
            ("max_kg", models.PositiveIntegerField()),
            ("bath_length_mm", models.PositiveIntegerField()),
            ("minimum_charge_kg", models.PositiveIntegerField(default=0)),
            ("price_per_kg", models.DecimalField(decimal_places=3, default=Decimal("0"), max_digits=8)),
            (
                "back_after_days",
                models.PositiveSmallIntegerField(help_text="Working days until the load is back."),
            ),
        ],
        options={
            "ordering": ["weekday"],
        },
    ),
    migrations.CreateModel(
        name="NumberSeries",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("code", models.SlugField(max_length=20, unique=True)),
            ("last", models.PositiveIntegerField(default=0)),
        ],
        options={
            "verbose_name_plural": "number series",
            "ordering": ["code"],
        },
    ),
    migrations.CreateModel(
        name="StepRule",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "step",
                models.CharField(
                    choices=[
                        ("sweep", "sweep blast"),
                        ("degas", "de-gas"),
                        ("coat", "coat"),
                        ("cure", "cure"),
                    ],
                    max_length=6,
                    unique=True,
                ),
            ),
            ("least_minutes", models.PositiveSmallIntegerField(default=0)),
            (
                "temperature_c",
                models.PositiveSmallIntegerField(
                    blank=True,
                    help_text="Of the metal, not of the air; empty where it is not heated.",
                    null=True,
                ),
            ),
            (
                "source",
                models.CharField(blank=True, help_text="Where the figures come from.", max_length=160),
            ),
        ],
        options={
            "ordering": ["pk"],
            "permissions": [
                (
                    "set_coating",
                    "May change the figures of the powder steps and accept thin or thick powder",
                )
            ],
        },
    ),
    migrations.CreateModel(
        name="Alert",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "kind",
                models.CharField(
                    choices=[("shortage", "stops an order"), ("shelf", "shelf under its level")],
                    max_length=10,
                ),
            ),
            ("first_seen", models.DateTimeField()),
            ("last_seen", models.DateTimeField()),
            ("gone_at", models.DateTimeField(blank=True, null=True)),
            (
                "quantity",
                models.DecimalField(
                    decimal_places=4, help_text="Short by; of a shelf, to buy.", max_digits=14
                ),
            ),
            (
                "needed_on",
                models.DateField(blank=True, help_text="Of a shelf: the day it runs out.", null=True),
            ),
            ("there_on", models.DateField(blank=True, null=True)),
            ("told_quantity", models.DecimalField(decimal_places=4, max_digits=14)),
            ("told_needed_on", models.DateField(blank=True, null=True)),
            ("told_there_on", models.DateField(blank=True, null=True)),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE, related_name="alerts", to="bom.item"
                ),
            ),
        ],
        options={
            "ordering": ["kind", "needed_on", "item"],
            "permissions": [
                ("silence_alert", "May silence an alert for a time"),
                ("set_digest", "May have a role's alerts mailed"),
            ],
        },
    ),
    migrations.CreateModel(
        name="AlertNews",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "kind",
                models.CharField(
                    choices=[
                        ("new", "new"),
                        ("date", "worse date"),
                        ("larger", "larger quantity"),
                        ("again", "silence is over"),
                    ],
                    max_length=10,
                ),
            ),
            ("words", models.CharField(max_length=200)),
            ("at", models.DateTimeField()),
            (
                "alert",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="news",
                    to="production.alert",
                ),
            ),
        ],
        options={
            "verbose_name_plural": "alert news",
            "ordering": ["id"],
        },
    ),
    migrations.CreateModel(
        name="AlertWatch",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("only", models.BooleanField(default=True, editable=False, unique=True)),
            ("looked_at", models.DateTimeField(blank=True, null=True)),
        ],
        options={
            "constraints": [
                models.CheckConstraint(condition=models.Q(("only", True)), name="alert_watch_one_row")
            ],
        },
    ),
    migrations.CreateModel(
        name="CheckList",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("name", models.CharField(max_length=80, unique=True)),
            ("sequence", models.PositiveSmallIntegerField(default=10)),
            (
                "condition",
                models.CharField(
                    blank=True,
                    help_text="As on bill lines, e.g. model.braked; empty: always.",
                    max_length=500,
                ),
            ),
            ("is_active", models.BooleanField(default=True)),
            (
                "model",
                models.ForeignKey(
                    blank=True,
                    help_text="Only trailers of this model; every model where none is named.",
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="check_lists",
                    to="bom.trailermodel",
                ),
            ),
        ],
        options={
            "ordering": ["sequence", "name"],
            "permissions": [("set_checks", "May change check lists, the maker's data and papers")],
        },
    ),
    migrations.CreateModel(
        name="CheckLine",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("sequence", models.PositiveSmallIntegerField()),
            ("words", models.CharField(max_length=160)),
            ("condition", models.CharField(blank=True, max_length=500)),
            (
                "unit",
                models.CharField(blank=True, help_text="Filled in: a value is measured.", max_length=12),
            ),
            ("low", models.DecimalField(blank=True, decimal_places=2, max_digits=10, null=True)),
            ("high", models.DecimalField(blank=True, decimal_places=2, max_digits=10, null=True)),
            (
                "source",
                models.CharField(blank=True, help_text="Where the limits come from.", max_length=160),
            ),
            ("is_active", models.BooleanField(default=True)),
            (
                "check_list",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="lines",
                    to="production.checklist",
                ),
            ),
        ],
        options={
            "ordering": ["check_list__sequence", "check_list", "sequence", "pk"],
        },
    ),
    migrations.CreateModel(
        name="CheckResult",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("words", models.CharField(max_length=160)),
            ("unit", models.CharField(blank=True, max_length=12)),
            ("low", models.DecimalField(blank=True, decimal_places=2, max_digits=10, null=True)),
            ("high", models.DecimalField(blank=True, decimal_places=2, max_digits=10, null=True)),
            ("value", models.DecimalField(blank=True, decimal_places=2, max_digits=10, null=True)),
            ("is_good", models.BooleanField()),
            ("remark", models.CharField(blank=True, max_length=200)),
            ("at", models.DateTimeField()),
            (
                "by",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "line",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="results",
                    to="production.checkline",
                ),
            ),
        ],
        options={
            "ordering": ["inspection", "pk"],
        },
    ),
    migrations.CreateModel(
        name="Clearance",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("reason", models.CharField(max_length=200)),
            ("at", models.DateTimeField(auto_now_add=True)),
            (
                "by",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "result",
                models.OneToOneField(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="clearance",
                    to="production.checkresult",
                ),
            ),
        ],
        options={
            "ordering": ["pk"],
            "permissions": [("clear_check", "May clear a check that failed")],
        },
    ),
    migrations.CreateModel(
        name="CostAllowance",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("from_day", models.DateField(unique=True)),
            ("sheet_yield", models.DecimalField(decimal_places=3, max_digits=4)),
            ("bar_yield", models.DecimalField(decimal_places=3, max_digits=4)),
            ("scrap_share", models.DecimalField(decimal_places=3, max_digits=4)),
            ("usual_load_kg", models.PositiveIntegerField()),
            ("note", models.CharField(blank=True, max_length=120)),
        ],
        options={
            "ordering": ["-from_day"],
            "constraints": [
                models.CheckConstraint(
                    condition=models.Q(
                        ("bar_yield__gt", 0),
                        ("bar_yield__lte", 1),
                        ("sheet_yield__gt", 0),
                        ("sheet_yield__lte", 1),
                    ),
                    name="allowance_yield_is_share",
                    violation_error_message="A yield is above 0 and at most 1.",
                ),
                models.CheckConstraint(
                    condition=models.Q(("scrap_share__gte", 0), ("scrap_share__lt", 1)),
                    name="allowance_scrap_is_share",
                    violation_error_message="The scrap allowance is from 0 to less than 1.",
                ),
            ],
        },
    ),
    migrations.CreateModel(
        name="CureTrial",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "state",
                models.CharField(
                    choices=[
                        ("queued", "waiting its turn"),
                        ("running", "running"),
                        ("finished", "finished"),
                    ],
                    default="queued",
                    max_length=10,
                ),
            ),
            (
                "outcome",
                models.CharField(
                    blank=True,
                    choices=[
                        ("", "not yet known"),
                        ("succeeded", "succeeded"),
                        ("failed", "failed"),
                        ("cancelled", "cancelled"),
                    ],
                    default="",
                    max_length=10,
                ),
            ),
            ("percent", models.PositiveSmallIntegerField(default=0)),
            ("step", models.CharField(blank=True, max_length=200)),
            ("failure", models.TextField(blank=True)),
            ("cancel_asked", models.BooleanField(default=False)),
            ("asked_at", models.DateTimeField(auto_now_add=True)),
            ("started_at", models.DateTimeField(blank=True, null=True)),
            ("heartbeat_at", models.DateTimeField(blank=True, null=True)),
            ("finished_at", models.DateTimeField(blank=True, null=True)),
            (
                "seconds",
                models.PositiveSmallIntegerField(
                    default=3, help_text="Seconds the scheduler has for each cure."
                ),
            ),
            ("late_minutes", models.PositiveIntegerField(default=0)),
            ("late_hours", models.DecimalField(decimal_places=1, default=0, max_digits=12)),
            (
                "asked_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.SET_NULL,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
        ],
        options={
            "ordering": ["-pk"],
        },
    ),
    migrations.CreateModel(
        name="CureOption",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "kind",
                models.CharField(
                    choices=[
                        ("overtime", "overtime"),
                        ("lorry", "extra lorry"),
                        ("buy", "buy faster"),
                        ("swap", "swap"),
                    ],
                    max_length=8,
                ),
            ),
            ("sentence", models.CharField(max_length=300)),
            ("late_minutes", models.PositiveIntegerField()),
            ("late_hours", models.DecimalField(decimal_places=1, max_digits=12)),
            (
                "newly_late",
                models.CharField(blank=True, help_text="Orders that become late by it.", max_length=200),
            ),
            (
                "price",
                models.DecimalField(
                    blank=True,
                    decimal_places=2,
                    help_text="None where it must be asked.",
                    max_digits=10,
                    null=True,
                ),
            ),
            (
                "trial",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="options",
                    to="production.curetrial",
                ),
            ),
        ],
        options={
            "ordering": ["trial", "late_minutes", "price", "pk"],
        },
    ),
    migrations.CreateModel(
        name="Customer",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("code", models.CharField(max_length=20, unique=True)),
            ("name", models.CharField(max_length=120)),
            ("place", models.CharField(blank=True, max_length=80)),
            ("is_trade", models.BooleanField(default=False)),
            ("variants", models.ManyToManyField(blank=True, related_name="customers", to="bom.variant")),
        ],
        options={
            "ordering": ["name"],
        },
    ),
    migrations.CreateModel(
        name="BatchRenest",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "state",
                models.CharField(
                    choices=[
                        ("queued", "waiting its turn"),
                        ("running", "running"),
                        ("finished", "finished"),
                    ],
                    default="queued",
                    max_length=10,
                ),
            ),
            (
                "outcome",
                models.CharField(
                    blank=True,
                    choices=[
                        ("", "not yet known"),
                        ("succeeded", "succeeded"),
                        ("failed", "failed"),
                        ("cancelled", "cancelled"),
                    ],
                    default="",
                    max_length=10,
                ),
            ),
            ("percent", models.PositiveSmallIntegerField(default=0)),
            ("step", models.CharField(blank=True, max_length=200)),
            ("failure", models.TextField(blank=True)),
            ("cancel_asked", models.BooleanField(default=False)),
            ("asked_at", models.DateTimeField(auto_now_add=True)),
            ("started_at", models.DateTimeField(blank=True, null=True)),
            ("heartbeat_at", models.DateTimeField(blank=True, null=True)),
            ("finished_at", models.DateTimeField(blank=True, null=True)),
            ("grade", models.CharField(max_length=20)),
            ("thickness_mm", models.DecimalField(decimal_places=2, max_digits=6)),
            (
                "said",
                models.CharField(blank=True, help_text="What came of it, in a sentence.", max_length=200),
            ),
            (
                "asked_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.SET_NULL,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "batch",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="renests",
                    to="production.cutbatch",
                ),
            ),
        ],
        options={
            "ordering": ["-pk"],
        },
    ),
    migrations.CreateModel(
        name="CutSheet",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("number", models.PositiveSmallIntegerField()),
            ("length_mm", models.DecimalField(decimal_places=1, max_digits=8)),
            ("width_mm", models.DecimalField(decimal_places=1, max_digits=8)),
            ("used_length_mm", models.DecimalField(decimal_places=1, max_digits=8)),
            ("use", models.DecimalField(decimal_places=4, max_digits=5)),
            ("minutes", models.DecimalField(decimal_places=1, max_digits=8)),
            (
                "state",
                models.CharField(
                    choices=[
                        ("waiting", "waiting"),
                        ("begun", "begun"),
                        ("done", "done"),
                        ("dropped", "dropped"),
                    ],
                    default="waiting",
                    max_length=10,
                ),
            ),
            ("began_at", models.DateTimeField(blank=True, null=True)),
            ("finished_at", models.DateTimeField(blank=True, null=True)),
            (
                "problem",
                models.CharField(
                    blank=True, help_text="What stopped it, in the operator's words.", max_length=200
                ),
            ),
            (
                "cast",
                models.CharField(
                    blank=True,
                    help_text="Cast number read off the sheet; its parts carry it on.",
                    max_length=60,
                ),
            ),
            (
                "batch",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="sheets",
                    to="production.cutbatch",
                ),
            ),
            (
                "by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="cut_sheets", to="bom.item"
                ),
            ),
            (
                "lot",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="cut_sheets",
                    to="inventory.lot",
                ),
            ),
            (
                "offcut",
                models.OneToOneField(
                    blank=True,
                    help_text="What was left of the sheet and went back to a shelf.",
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="left_of",
                    to="inventory.lot",
                ),
            ),
            (
                "posting",
                models.OneToOneField(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="cut_sheet",
                    to="inventory.posting",
                ),
            ),
        ],
        options={
            "ordering": ["batch", "number"],
        },
    ),
    migrations.CreateModel(
        name="CutStretch",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("began_at", models.DateTimeField()),
            ("ended_at", models.DateTimeField(blank=True, null=True)),
            (
                "ended_as",
                models.CharField(
                    blank=True, choices=[("stopped", "stopped"), ("done", "done")], max_length=8
                ),
            ),
            ("reason", models.CharField(blank=True, max_length=200)),
            (
                "by",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "sheet",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="stretches",
                    to="production.cutsheet",
                ),
            ),
        ],
        options={
            "verbose_name_plural": "cut stretches",
            "ordering": ["sheet", "began_at", "id"],
        },
    ),
    migrations.CreateModel(
        name="DeliveryPlace",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("name", models.CharField(max_length=80, unique=True)),
            ("is_works", models.BooleanField(default=False, verbose_name="this is the works")),
        ],
        options={
            "ordering": ["name"],
            "constraints": [
                models.UniqueConstraint(
                    condition=models.Q(("is_works", True)),
                    fields=("is_works",),
                    name="one_place_is_the_works",
                    violation_error_message="Another place is the works already.",
                )
            ],
        },
    ),
    migrations.CreateModel(
        name="Digest",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("day", models.DateField()),
            ("up_to", models.PositiveBigIntegerField(help_text="The last news told, by id.")),
            ("alerts", models.PositiveIntegerField()),
            ("claimed_at", models.DateTimeField()),
            ("sent_at", models.DateTimeField(blank=True, null=True)),
            (
                "person",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="digests",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
        ],
        options={
            "ordering": ["person", "-day"],
        },
    ),
    migrations.CreateModel(
        name="DigestWish",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("shortages", models.BooleanField(default=True)),
            ("shelves", models.BooleanField(default=True)),
            (
                "person",
                models.OneToOneField(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="digest_wish",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "role",
                models.OneToOneField(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="digest_wish",
                    to="auth.group",
                ),
            ),
        ],
        options={
            "ordering": ["role", "person"],
        },
    ),
    migrations.CreateModel(
        name="ExtraRun",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("date", models.DateField(unique=True)),
            ("at", models.DateTimeField(auto_now_add=True)),
            (
                "by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.SET_NULL,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
        ],
        options={
            "ordering": ["date"],
        },
    ),
    migrations.CreateModel(
        name="Fastener",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("diameter_mm", models.PositiveSmallIntegerField(verbose_name="thread, mm")),
            (
                "low_nm",
                models.PositiveSmallIntegerField(blank=True, null=True, verbose_name="at least, N·m"),
            ),
            (
                "high_nm",
                models.PositiveSmallIntegerField(blank=True, null=True, verbose_name="at most, N·m"),
            ),
            ("source", models.CharField(blank=True, max_length=160, verbose_name="who says so")),
            (
                "item",
                models.OneToOneField(
                    on_delete=django.db.models.deletion.CASCADE, related_name="fastener", to="bom.item"
                ),
            ),
        ],
        options={
            "ordering": ["diameter_mm", "item"],
        },
    ),
    migrations.CreateModel(
        name="FrozenBill",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("digest", models.CharField(max_length=64, unique=True)),
            ("frozen_at", models.DateTimeField(auto_now_add=True)),
            ("mass_kg", models.DecimalField(decimal_places=3, default=Decimal("0"), max_digits=10)),
            (
                "chassis_kg",
                models.DecimalField(
                    decimal_places=3,
                    default=Decimal("0"),
                    help_text="Mass that goes to the galvaniser.",
                    max_digits=10,
                ),
            ),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="frozen_bills",
                    to="bom.item",
                ),
            ),
        ],
        options={
            "ordering": ["-frozen_at"],
        },
    ),
    migrations.CreateModel(
        name="FrozenLine",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("position", models.PositiveSmallIntegerField()),
            ("quantity_per", models.DecimalField(decimal_places=6, max_digits=16)),
            ("revision", models.CharField(blank=True, max_length=4)),
            (
                "bill",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="lines",
                    to="production.frozenbill",
                ),
            ),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="frozen_lines",
                    to="bom.item",
                ),
            ),
            (
                "parent",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="+", to="bom.item"
                ),
            ),
        ],
        options={
            "ordering": ["bill", "parent", "position"],
        },
    ),
    migrations.CreateModel(
        name="FrozenTotal",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("quantity", models.DecimalField(decimal_places=6, max_digits=16)),
            (
                "bill",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="totals",
                    to="production.frozenbill",
                ),
            ),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="frozen_totals",
                    to="bom.item",
                ),
            ),
            (
                "revision",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="frozen_totals",
                    to="bom.revision",
                ),
            ),
        ],
        options={
            "ordering": ["bill", "item"],
        },
    ),
    migrations.CreateModel(
        name="Certificate",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("key", models.CharField(max_length=80, unique=True)),
            ("number", models.CharField(help_text="As the galvaniser numbers it.", max_length=40)),
            (
                "mean_um",
                models.PositiveSmallIntegerField(
                    blank=True, help_text="Mean coating thickness that it states, µm.", null=True
                ),
            ),
            ("file", models.FileField(max_length=120, upload_to="")),
            ("file_type", models.CharField(max_length=20)),
            ("at", models.DateTimeField(auto_now_add=True)),
            ("withdrawn_at", models.DateTimeField(blank=True, null=True)),
            ("withdrawn_why", models.CharField(blank=True, max_length=200)),
            (
                "by",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "withdrawn_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "load",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="certificates",
                    to="production.galvanisingload",
                ),
            ),
        ],
        options={
            "ordering": ["load", "at"],
        },
    ),
    migrations.CreateModel(
        name="Inspection",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("begun_at", models.DateTimeField(auto_now_add=True)),
            ("signed_at", models.DateTimeField(blank=True, null=True)),
            (
                "begun_by",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "signed_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
        ],
        options={
            "ordering": ["order"],
        },
    ),
    migrations.AddField(
        model_name="checkresult",
        name="inspection",
        field=models.ForeignKey(
            on_delete=django.db.models.deletion.PROTECT,
            related_name="results",
            to="production.inspection",
        ),
    ),
    migrations.CreateModel(
        name="Jig",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("code", models.SlugField(max_length=20, unique=True)),
            ("name", models.CharField(max_length=60)),
            ("units", models.PositiveSmallIntegerField(default=1)),
            ("models", models.ManyToManyField(blank=True, related_name="jigs", to="bom.trailermodel")),
        ],
        options={
            "ordering": ["code"],
        },
    ),
    migrations.CreateModel(
        name="JigRepair",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("starts_at", models.DateTimeField()),
            ("ends_at", models.DateTimeField()),
            (
                "units",
                models.PositiveSmallIntegerField(blank=True, help_text="None means all of them.", null=True),
            ),
            ("reason", models.CharField(max_length=80)),
            (
                "jig",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="repairs",
                    to="production.jig",
                ),
            ),
        ],
        options={
            "ordering": ["starts_at"],
        },
    ),
    migrations.CreateModel(
        name="JigSheet",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("number", models.PositiveSmallIntegerField()),
            (
                "jig",
                models.CharField(blank=True, help_text="Which jig, and how it is set.", max_length=80),
            ),
            (
                "quality",
                models.CharField(
                    blank=True,
                    help_text="What is asked of the weld, e.g. ISO 5817, level C.",
                    max_length=80,
                ),
            ),
            (
                "is_inspected",
                models.BooleanField(
                    default=False, help_text="The next step waits until somebody has inspected it."
                ),
            ),
            ("at", models.DateTimeField(auto_now_add=True)),
            (
                "by",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE, related_name="jig_sheets", to="bom.item"
                ),
            ),
            (
                "process",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="jig_sheets",
                    to="bom.process",
                ),
            ),
        ],
        options={
            "ordering": ["item", "process", "-number"],
            "permissions": [("write_notes", "May write jig sheets and notes for the stations")],
        },
    ),
    migrations.CreateModel(
        name="JigNote",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("position", models.PositiveSmallIntegerField()),
            ("words", models.CharField(max_length=300)),
            (
                "sheet",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="notes",
                    to="production.jigsheet",
                ),
            ),
        ],
        options={
            "ordering": ["sheet", "position"],
        },
    ),
    migrations.CreateModel(
        name="JobCard",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("number", models.CharField(max_length=12, unique=True)),
            (
                "kind",
                models.CharField(
                    choices=[("usual", "job"), ("rework", "rework"), ("again", "make again")],
                    default="usual",
                    max_length=8,
                ),
            ),
            (
                "state",
                models.CharField(
                    choices=[
                        ("waiting", "waiting"),
                        ("begun", "begun"),
                        ("done", "done"),
                        ("joined", "joined to another"),
                        ("cancelled", "cancelled"),
                    ],
                    default="waiting",
                    max_length=10,
                ),
            ),
            (
                "reason",
                models.CharField(blank=True, help_text="Why parts are done again.", max_length=200),
            ),
            ("made_at", models.DateTimeField(auto_now_add=True)),
            ("began_at", models.DateTimeField(blank=True, null=True)),
            ("finished_at", models.DateTimeField(blank=True, null=True)),
            (
                "follows",
                models.ForeignKey(
                    blank=True,
                    help_text="The card it was split from, or whose parts it puts right.",
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="followers",
                    to="production.jobcard",
                ),
            ),
            (
                "process",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="job_cards",
                    to="bom.process",
                ),
            ),
        ],
        options={
            "ordering": ["number"],
        },
    ),
    migrations.CreateModel(
        name="CardPaper",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "state",
                models.CharField(
                    choices=[
                        ("queued", "waiting its turn"),
                        ("running", "running"),
                        ("finished", "finished"),
                    ],
                    default="queued",
                    max_length=10,
                ),
            ),
            (
                "outcome",
                models.CharField(
                    blank=True,
                    choices=[
                        ("", "not yet known"),
                        ("succeeded", "succeeded"),
                        ("failed", "failed"),
                        ("cancelled", "cancelled"),
                    ],
                    default="",
                    max_length=10,
                ),
            ),
            ("percent", models.PositiveSmallIntegerField(default=0)),
            ("step", models.CharField(blank=True, max_length=200)),
            ("failure", models.TextField(blank=True)),
            ("cancel_asked", models.BooleanField(default=False)),
            ("asked_at", models.DateTimeField(auto_now_add=True)),
            ("started_at", models.DateTimeField(blank=True, null=True)),
            ("heartbeat_at", models.DateTimeField(blank=True, null=True)),
            ("finished_at", models.DateTimeField(blank=True, null=True)),
            ("key", models.CharField(max_length=80, unique=True)),
            ("size", models.CharField(choices=[("a5", "A5"), ("a4", "A4")], default="a5", max_length=2)),
            ("pdf", models.BinaryField(null=True)),
            (
                "asked_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.SET_NULL,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            ("cards", models.ManyToManyField(related_name="papers", to="production.jobcard")),
        ],
        options={
            "ordering": ["-asked_at"],
        },
    ),
    migrations.CreateModel(
        name="KitLine",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("wanted", models.DecimalField(decimal_places=4, max_digits=14)),
            ("picked", models.DecimalField(decimal_places=4, default=Decimal("0"), max_digits=14)),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="kit_lines", to="bom.item"
                ),
            ),
            (
                "kit",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE, related_name="lines", to="production.kit"
                ),
            ),
        ],
        options={
            "ordering": ["kit", "item"],
        },
    ),
    migrations.CreateModel(
        name="KnownUnitCost",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("cost", models.DecimalField(decimal_places=8, max_digits=16)),
            ("basis", models.CharField(max_length=40)),
            ("on", models.DateField()),
            (
                "item",
                models.OneToOneField(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="known_unit_cost",
                    to="bom.item",
                ),
            ),
        ],
        options={
            "ordering": ["item"],
        },
    ),
    migrations.CreateModel(
        name="LaidPart",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("outline", models.CharField(help_text="Digest of its contours.", max_length=64)),
            (
                "batch",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="laid_parts",
                    to="production.cutbatch",
                ),
            ),
            (
                "part",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="laid", to="bom.flatpart"
                ),
            ),
            (
                "revision",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="laid_parts",
                    to="bom.revision",
                ),
            ),
        ],
        options={
            "ordering": ["batch", "part"],
        },
    ),
    migrations.CreateModel(
        name="LoadPaper",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "state",
                models.CharField(
                    choices=[
                        ("queued", "waiting its turn"),
                        ("running", "running"),
                        ("finished", "finished"),
                    ],
                    default="queued",
                    max_length=10,
                ),
            ),
            (
                "outcome",
                models.CharField(
                    blank=True,
                    choices=[
                        ("", "not yet known"),
                        ("succeeded", "succeeded"),
                        ("failed", "failed"),
                        ("cancelled", "cancelled"),
                    ],
                    default="",
                    max_length=10,
                ),
            ),
            ("percent", models.PositiveSmallIntegerField(default=0)),
            ("step", models.CharField(blank=True, max_length=200)),
            ("failure", models.TextField(blank=True)),
            ("cancel_asked", models.BooleanField(default=False)),
            ("asked_at", models.DateTimeField(auto_now_add=True)),
            ("started_at", models.DateTimeField(blank=True, null=True)),
            ("heartbeat_at", models.DateTimeField(blank=True, null=True)),
            ("finished_at", models.DateTimeField(blank=True, null=True)),
            ("key", models.CharField(max_length=80, unique=True)),
            (
                "kind",
                models.CharField(choices=[("note", "dispatch note"), ("claim", "claim")], max_length=6),
            ),
            ("pdf", models.BinaryField(null=True)),
            (
                "asked_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.SET_NULL,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "load",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="papers",
                    to="production.galvanisingload",
                ),
            ),
        ],
        options={
            "ordering": ["-asked_at", "-pk"],
        },
    ),
    migrations.CreateModel(
        name="Lorry",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("name", models.CharField(max_length=60, unique=True)),
            ("trailers", models.PositiveSmallIntegerField(verbose_name="carries so many trailers")),
            ("is_active", models.BooleanField(default=True, verbose_name="in use")),
        ],
        options={
            "verbose_name_plural": "lorries",
            "ordering": ["-trailers", "name"],
            "constraints": [
                models.CheckConstraint(
                    condition=models.Q(("trailers__gte", 1), ("trailers__lte", 12)),
                    name="lorry_carries_some",
                    violation_error_message="A lorry carries 1 to 12 trailers.",
                )
            ],
        },
    ),
    migrations.CreateModel(
        name="DeliveryRun",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("number", models.CharField(max_length=20, unique=True)),
            ("day", models.DateField()),
            (
                "state",
                models.CharField(
                    choices=[("planned", "planned"), ("gone", "gone"), ("cancelled", "cancelled")],
                    default="planned",
                    max_length=10,
                ),
            ),
            (
                "is_shortest",
                models.BooleanField(default=False, help_text="No shorter way for the day's runs exists."),
            ),
            ("at", models.DateTimeField(auto_now_add=True)),
            ("left_at", models.DateTimeField(blank=True, null=True)),
            (
                "by",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "left_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "lorry",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="runs",
                    to="production.lorry",
                ),
            ),
        ],
        options={
            "ordering": ["day", "number"],
            "permissions": [("plan_delivery", "May plan deliveries, places and lorries")],
        },
    ),
    migrations.CreateModel(
        name="Maker",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("name", models.CharField(max_length=120)),
            ("address", models.TextField(blank=True)),
            ("wmi", models.CharField(max_length=3, verbose_name="maker's code (WMI)")),
            (
                "small_code",
                models.CharField(
                    blank=True,
                    help_text="Places 12 to 14, where the WMI ends in 9.",
                    max_length=3,
                    verbose_name="small maker's code",
                ),
            ),
            (
                "descriptor",
                models.CharField(
                    help_text="Places 4 to 8, for models that have none of their own.", max_length=5
                ),
            ),
            ("plant", models.CharField(default="0", help_text="Place 11.", max_length=1)),
            (
                "has_check_digit",
                models.BooleanField(default=False, verbose_name="check digit in place 9"),
            ),
            ("has_year", models.BooleanField(default=False, verbose_name="model year in place 10")),
        ],
        options={
            "constraints": [models.CheckConstraint(condition=models.Q(("pk", 1)), name="maker_is_one")],
        },
    ),
    migrations.CreateModel(
        name="ModelDescriptor",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("descriptor", models.CharField(max_length=5)),
            (
                "model",
                models.OneToOneField(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="vin_descriptor",
                    to="bom.trailermodel",
                ),
            ),
        ],
        options={
            "ordering": ["model"],
        },
    ),
    migrations.CreateModel(
        name="NumberRule",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "form",
                models.CharField(
                    choices=[
                        ("any", "any letters and digits"),
                        ("mask", "as the pattern shows"),
                        ("tyre", "tyre identification number"),
                    ],
                    default="any",
                    max_length=4,
                    verbose_name="how it looks",
                ),
            ),
            ("mask", models.CharField(blank=True, max_length=40, verbose_name="pattern")),
            (
                "item",
                models.OneToOneField(
                    on_delete=django.db.models.deletion.CASCADE, related_name="number_rule", to="bom.item"
                ),
            ),
        ],
        options={
            "ordering": ["item"],
        },
    ),
    migrations.CreateModel(
        name="Order",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("number", models.CharField(max_length=20, unique=True)),
            (
                "finish",
                models.CharField(
                    choices=[
                        ("galvanised", "hot-dip galvanised"),
                        ("duplex", "galvanised and powder coated"),
                        ("painted", "blasted and powder coated"),
                    ],
                    max_length=12,
                ),
            ),
            (
                "state",
                models.CharField(
                    choices=[
                        ("draft", "draft"),
                        ("confirmed", "confirmed"),
                        ("released", "released"),
                        ("begun", "begun"),
                        ("done", "done"),
                        ("gone", "gone"),
                        ("cancelled", "cancelled"),
                    ],
                    default="draft",
                    max_length=10,
                ),
            ),
            ("asked_for", models.DateField()),
            ("promised_on", models.DateField(blank=True, null=True)),
            (
                "weight",
                models.PositiveSmallIntegerField(
                    default=1, help_text="How much a late day hurts: 1 usual, 3 most."
                ),
            ),
            ("price", models.DecimalField(decimal_places=2, default=Decimal("0"), max_digits=10)),
            ("note", models.TextField(blank=True)),
            ("made_at", models.DateTimeField(auto_now_add=True)),
            ("confirmed_at", models.DateTimeField(blank=True, null=True)),
            (
                "cancelled_from",
                models.CharField(
                    blank=True,
                    choices=[
                        ("draft", "draft"),
                        ("confirmed", "confirmed"),
                        ("released", "released"),
                        ("begun", "begun"),
                        ("done", "done"),
                        ("gone", "gone"),
                        ("cancelled", "cancelled"),
                    ],
                    help_text="The state it goes back to if the cancelling is undone.",
                    max_length=10,
                ),
            ),
            ("cancel_reason", models.CharField(blank=True, max_length=200)),
            (
                "bill",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="orders",
                    to="production.frozenbill",
                ),
            ),
            (
                "copied_from",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.SET_NULL,
                    related_name="copies",
                    to="production.order",
                ),
            ),
            (
                "customer",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="orders",
                    to="production.customer",
                ),
            ),
            (
                "hull",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="orders",
                    to="production.hull",
                ),
            ),
            (
                "made_by",
                models.ForeignKey(
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "market",
                models.ForeignKey(
                    blank=True,
                    help_text="Where it will be registered; the default market where none is named.",
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="orders",
                    to="bom.market",
                ),
            ),
            (
                "model",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="orders",
                    to="bom.trailermodel",
                ),
            ),
            (
                "purpose",
                models.OneToOneField(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="production_order",
                    to="inventory.purpose",
                ),
            ),
            (
                "variant",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="orders",
                    to="bom.variant",
                ),
            ),
        ],
        options={
            "ordering": ["number"],
            "permissions": [
                ("confirm_order", "May confirm an order"),
                ("cancel_order", "May cancel an order"),
                ("import_order", "May bring orders in from a workbook"),
                ("accept_rating", "May let an order go on although a rating is not met"),
            ],
        },
    ),
    migrations.CreateModel(
        name="NotRead",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("reason", models.CharField(max_length=200)),
            ("at", models.DateTimeField(auto_now_add=True)),
            (
                "by",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="+", to="bom.item"
                ),
            ),
            (
                "order",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="numbers_not_read",
                    to="production.order",
                ),
            ),
        ],
        options={
            "ordering": ["order", "pk"],
        },
    ),
    migrations.CreateModel(
        name="LoadLine",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("quantity", models.DecimalField(decimal_places=4, max_digits=10)),
            (
                "mass_kg",
                models.DecimalField(decimal_places=2, help_text="Of the whole quantity.", max_digits=10),
            ),
            ("length_mm", models.PositiveIntegerField(default=0)),
            ("vents_checked_at", models.DateTimeField(blank=True, null=True)),
            (
                "counted_out",
                models.DecimalField(
                    blank=True,
                    decimal_places=4,
                    help_text="Counted onto the lorry.",
                    max_digits=10,
                    null=True,
                ),
            ),
            (
                "came_back",
                models.DecimalField(
                    blank=True,
                    decimal_places=4,
                    help_text="Counted back; none while it is away.",
                    max_digits=10,
                    null=True,
                ),
            ),
            (
                "damaged",
                models.DecimalField(
                    decimal_places=4,
                    default=Decimal("0"),
                    help_text="Of those that came back.",
                    max_digits=10,
                ),
            ),
            (
                "damage",
                models.CharField(blank=True, help_text="What is wrong with them.", max_length=200),
            ),
            (
                "then",
                models.CharField(
                    choices=[
                        ("use", "used all the same"),
                        ("again", "galvanised once more"),
                        ("scrap", "scrapped"),
                    ],
                    default="use",
                    max_length=6,
                ),
            ),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="load_lines", to="bom.item"
                ),
            ),
            (
                "load",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="lines",
                    to="production.galvanisingload",
                ),
            ),
            (
                "repeats",
                models.ForeignKey(
                    blank=True,
                    help_text="The line whose lost or spoilt parts this one makes good.",
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="repeated_by",
                    to="production.loadline",
                ),
            ),
            (
                "vents_checked_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "order",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="load_lines",
                    to="production.order",
                ),
            ),
        ],
        options={
            "ordering": ["load", "order"],
        },
    ),
    migrations.AddField(
        model_name="kit",
        name="order",
        field=models.OneToOneField(
            on_delete=django.db.models.deletion.CASCADE, related_name="kit", to="production.order"
        ),
    ),
    migrations.CreateModel(
        name="JoinedPart",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("quantity", models.PositiveIntegerField()),
            ("why", models.CharField(blank=True, max_length=120)),
            (
                "part",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="+", to="bom.flatpart"
                ),
            ),
            (
                "renest",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="parts",
                    to="production.batchrenest",
                ),
            ),
            (
                "order",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to="production.order",
                ),
            ),
        ],
        options={
            "ordering": ["renest", "pk"],
        },
    ),
    migrations.AddField(
        model_name="inspection",
        name="order",
        field=models.OneToOneField(
            on_delete=django.db.models.deletion.PROTECT, related_name="inspection", to="production.order"
        ),
    ),
    migrations.CreateModel(
        name="FittedNumber",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("code", models.CharField(max_length=60)),
            (
                "is_shared",
                models.BooleanField(default=False, help_text="Of a batch: other parts may bear it too."),
            ),
            ("at", models.DateTimeField(auto_now_add=True)),
            ("taken_back_at", models.DateTimeField(blank=True, null=True)),
            (
                "by",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="fitted_numbers",
                    to="bom.item",
                ),
            ),
            (
                "taken_back_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "order",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="fitted_numbers",
                    to="production.order",
                ),
            ),
        ],
        options={
            "ordering": ["order", "pk"],
        },
    ),
    migrations.CreateModel(
        name="Delivery",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("sequence", models.PositiveSmallIntegerField()),
            ("received_by", models.CharField(blank=True, max_length=120)),
            ("received_at", models.DateTimeField(blank=True, null=True)),
            (
                "place",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to="production.deliveryplace",
                ),
            ),
            (
                "run",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="deliveries",
                    to="production.deliveryrun",
                ),
            ),
            (
                "order",
                models.OneToOneField(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="delivery",
                    to="production.order",
                ),
            ),
        ],
        options={
            "verbose_name_plural": "deliveries",
            "ordering": ["run", "sequence"],
        },
    ),
    migrations.CreateModel(
        name="CutPlacement",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("x_mm", models.DecimalField(decimal_places=3, max_digits=9)),
            ("y_mm", models.DecimalField(decimal_places=3, max_digits=9)),
            ("rotation_deg", models.DecimalField(decimal_places=3, max_digits=7)),
            ("mirrored", models.BooleanField(default=False)),
            (
                "is_filler",
                models.BooleanField(
                    default=False, help_text="For the shelf, and only because there was room."
                ),
            ),
            (
                "state",
                models.CharField(
                    choices=[
                        ("waiting", "waiting"),
                        ("good", "good"),
                        ("scrap", "scrap"),
                        ("lost", "lost"),
                    ],
                    default="waiting",
                    max_length=8,
                ),
            ),
            ("reason", models.CharField(blank=True, max_length=120)),
            (
                "part",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="placements",
                    to="bom.flatpart",
                ),
            ),
            (
                "sheet",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="placements",
                    to="production.cutsheet",
                ),
            ),
            (
                "order",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="cut_placements",
                    to="production.order",
                ),
            ),
        ],
        options={
            "ordering": ["sheet", "id"],
        },
    ),
    migrations.AddField(
        model_name="curetrial",
        name="order",
        field=models.ForeignKey(
            on_delete=django.db.models.deletion.CASCADE, related_name="cure_trials", to="production.order"
        ),
    ),
    migrations.CreateModel(
        name="CostSnapshot",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "finish",
                models.CharField(
                    blank=True,
                    choices=[
                        ("galvanised", "hot-dip galvanised"),
                        ("duplex", "galvanised and powder coated"),
                        ("painted", "blasted and powder coated"),
                    ],
                    max_length=12,
                ),
            ),
            ("day", models.DateField()),
            ("rests_on", models.CharField(max_length=64)),
            (
                "cost",
                models.DecimalField(
                    decimal_places=2,
                    help_text="None where the bill cannot be worked out.",
                    max_digits=12,
                    null=True,
                ),
            ),
            ("price", models.DecimalField(decimal_places=2, max_digits=10)),
            ("mass_kg", models.DecimalField(decimal_places=3, default=Decimal("0"), max_digits=10)),
            ("centre_mm", models.DecimalField(blank=True, decimal_places=1, max_digits=10, null=True)),
            ("is_estimated", models.BooleanField(default=False)),
            ("at", models.DateTimeField(auto_now=True)),
            (
                "model",
                models.OneToOneField(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="cost_snapshot",
                    to="bom.trailermodel",
                ),
            ),
            (
                "bill",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="+",
                    to="production.frozenbill",
                ),
            ),
            (
                "order",
                models.OneToOneField(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="cost_snapshot",
                    to="production.order",
                ),
            ),
        ],
        options={
            "ordering": ["order", "model"],
        },
    ),
    migrations.AddField(
        model_name="alert",
        name="order",
        field=models.ForeignKey(
            blank=True,
            null=True,
            on_delete=django.db.models.deletion.CASCADE,
            related_name="alerts",
            to="production.order",
        ),
    ),
    migrations.CreateModel(
        name="OrderChoice",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "choice",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="+", to="bom.optionchoice"
                ),
            ),
            (
                "order",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="choices",
                    to="production.order",
                ),
            ),
        ],
        options={
            "ordering": ["order", "choice"],
        },
    ),
    migrations.CreateModel(
        name="OrderColour",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "place",
                models.CharField(
                    choices=[
                        ("port", "rollers, port"),
                        ("starboard", "rollers, starboard"),
                        ("powder", "powder coat"),
                    ],
                    max_length=10,
                ),
            ),
            (
                "colour",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="+", to="bom.colour"
                ),
            ),
            (
                "order",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="colours",
                    to="production.order",
                ),
            ),
        ],
        options={
            "ordering": ["order", "place"],
        },
    ),
    migrations.CreateModel(
        name="OrderVersion",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("number", models.PositiveSmallIntegerField()),
            ("key", models.CharField(max_length=60, unique=True)),
            (
                "finish",
                models.CharField(
                    choices=[
                        ("galvanised", "hot-dip galvanised"),
                        ("duplex", "galvanised and powder coated"),
                        ("painted", "blasted and powder coated"),
                    ],
                    max_length=12,
                ),
            ),
            ("asked_for", models.DateField()),
            ("price", models.DecimalField(decimal_places=2, max_digits=10)),
            ("next_price", models.DecimalField(decimal_places=2, max_digits=10)),
            ("reason", models.CharField(max_length=200)),
            ("at", models.DateTimeField(auto_now_add=True)),
            (
                "bill",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="versions",
                    to="production.frozenbill",
                ),
            ),
            (
                "by",
                models.ForeignKey(
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "hull",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="versions",
                    to="production.hull",
                ),
            ),
            (
                "next_bill",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to="production.frozenbill",
                ),
            ),
            (
                "order",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="versions",
                    to="production.order",
                ),
            ),
            (
                "variant",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to="bom.variant",
                ),
            ),
        ],
        options={
            "ordering": ["order", "number"],
        },
    ),
    migrations.CreateModel(
        name="OrderVersionChoice",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "choice",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="+", to="bom.optionchoice"
                ),
            ),
            (
                "version",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="choices",
                    to="production.orderversion",
                ),
            ),
        ],
        options={
            "ordering": ["version", "choice"],
        },
    ),
    migrations.CreateModel(
        name="OrderVersionColour",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "place",
                models.CharField(
                    choices=[
                        ("port", "rollers, port"),
                        ("starboard", "rollers, starboard"),
                        ("powder", "powder coat"),
                    ],
                    max_length=10,
                ),
            ),
            (
                "colour",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="+", to="bom.colour"
                ),
            ),
            (
                "version",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="colours",
                    to="production.orderversion",
                ),
            ),
        ],
        options={
            "ordering": ["version", "place"],
        },
    ),
    migrations.CreateModel(
        name="OvertimeTerms",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("from_day", models.DateField(unique=True)),
            ("overtime_factor", models.DecimalField(decimal_places=2, max_digits=4)),
            ("shift_factor", models.DecimalField(decimal_places=2, max_digits=4)),
            (
                "extra_run_price",
                models.DecimalField(
                    decimal_places=2,
                    help_text="What the haulier asks for a run that was not agreed.",
                    max_digits=8,
                ),
            ),
        ],
        options={
            "verbose_name_plural": "overtime terms",
            "ordering": ["-from_day"],
            "constraints": [
                models.CheckConstraint(
                    condition=models.Q(
                        ("extra_run_price__gte", 0), ("overtime_factor__gt", 0), ("shift_factor__gt", 0)
                    ),
                    name="overtime_terms_make_sense",
                    violation_error_message="Factors are above 0, and a run costs nothing or more.",
                )
            ],
        },
    ),
    migrations.CreateModel(
        name="Owner",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("name", models.CharField(max_length=120)),
            ("contact", models.CharField(blank=True, max_length=200)),
            ("since", models.DateField()),
            (
                "by",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "order",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="owners",
                    to="production.order",
                ),
            ),
        ],
        options={
            "ordering": ["order", "pk"],
        },
    ),
    migrations.CreateModel(
        name="PaperRun",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "state",
                models.CharField(
                    choices=[
                        ("queued", "waiting its turn"),
                        ("running", "running"),
                        ("finished", "finished"),
                    ],
                    default="queued",
                    max_length=10,
                ),
            ),
            (
                "outcome",
                models.CharField(
                    blank=True,
                    choices=[
                        ("", "not yet known"),
                        ("succeeded", "succeeded"),
                        ("failed", "failed"),
                        ("cancelled", "cancelled"),
                    ],
                    default="",
                    max_length=10,
                ),
            ),
            ("percent", models.PositiveSmallIntegerField(default=0)),
            ("step", models.CharField(blank=True, max_length=200)),
            ("failure", models.TextField(blank=True)),
            ("cancel_asked", models.BooleanField(default=False)),
            ("asked_at", models.DateTimeField(auto_now_add=True)),
            ("started_at", models.DateTimeField(blank=True, null=True)),
            ("heartbeat_at", models.DateTimeField(blank=True, null=True)),
            ("finished_at", models.DateTimeField(blank=True, null=True)),
            ("key", models.CharField(max_length=60, unique=True)),
            ("title", models.CharField(max_length=120)),
            (
                "kinds",
                models.CharField(
                    blank=True, help_text="Which papers; the usual ones if empty.", max_length=200
                ),
            ),
            ("papers", models.PositiveIntegerField(default=0)),
            (
                "asked_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.SET_NULL,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
        ],
        options={
            "ordering": ["-pk"],
        },
    ),
    migrations.CreateModel(
        name="Paper",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("kind", models.CharField(max_length=20)),
            ("content", models.BinaryField()),
            (
                "order",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="papers",
                    to="production.order",
                ),
            ),
            (
                "run",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="made",
                    to="production.paperrun",
                ),
            ),
        ],
        options={
            "ordering": ["run", "order", "pk"],
        },
    ),
    migrations.CreateModel(
        name="PaperTemplate",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("kind", models.CharField(max_length=20)),
            ("text", models.TextField()),
            ("at", models.DateTimeField(auto_now_add=True)),
            (
                "by",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
        ],
        options={
            "ordering": ["kind", "pk"],
        },
    ),
    migrations.CreateModel(
        name="PaperWanted",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "order",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="papers_wanted",
                    to="production.order",
                ),
            ),
            (
                "run",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="wanted",
                    to="production.paperrun",
                ),
            ),
        ],
        options={
            "ordering": ["run", "order"],
        },
    ),
    migrations.CreateModel(
        name="PlaceDistance",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("km", models.DecimalField(decimal_places=1, max_digits=7)),
            (
                "far",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="+",
                    to="production.deliveryplace",
                ),
            ),
            (
                "near",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="+",
                    to="production.deliveryplace",
                ),
            ),
        ],
        options={
            "ordering": ["near", "far"],
        },
    ),
    migrations.CreateModel(
        name="Plan",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "state",
                models.CharField(
                    choices=[
                        ("queued", "waiting its turn"),
                        ("running", "running"),
                        ("finished", "finished"),
                    ],
                    default="queued",
                    max_length=10,
                ),
            ),
            (
                "outcome",
                models.CharField(
                    blank=True,
                    choices=[
                        ("", "not yet known"),
                        ("succeeded", "succeeded"),
                        ("failed", "failed"),
                        ("cancelled", "cancelled"),
                    ],
                    default="",
                    max_length=10,
                ),
            ),
            ("percent", models.PositiveSmallIntegerField(default=0)),
            ("step", models.CharField(blank=True, max_length=200)),
            ("failure", models.TextField(blank=True)),
            ("cancel_asked", models.BooleanField(default=False)),
            ("asked_at", models.DateTimeField(auto_now_add=True)),
            ("started_at", models.DateTimeField(blank=True, null=True)),
            ("heartbeat_at", models.DateTimeField(blank=True, null=True)),
            ("finished_at", models.DateTimeField(blank=True, null=True)),
            ("number", models.PositiveIntegerField(unique=True)),
            (
                "way",
                models.CharField(
                    choices=[
                        ("whole", "made from the order book"),
                        ("changed", "made from another plan with changes"),
                    ],
                    default="whole",
                    max_length=8,
                ),
            ),
            (
                "seconds",
                models.PositiveSmallIntegerField(default=20, help_text="Seconds the scheduler may search."),
            ),
            (
                "batch_days",
                models.PositiveSmallIntegerField(
                    default=5,
                    help_text="Parts needed within so many working days of each other are cut in one batch.",
                ),
            ),
            (
                "frozen_hours",
                models.PositiveSmallIntegerField(
                    default=0,
                    help_text="What the released plan begins within so many hours keeps its place.",
                ),
            ),
            (
                "moved",
                models.PositiveIntegerField(
                    default=0,
                    help_text="Operations that begin over four hours away from where the released plan had them.",
                ),
            ),
            ("horizon_start", models.DateTimeField(blank=True, null=True)),
            ("released_at", models.DateTimeField(blank=True, null=True)),
            (
                "is_current",
                models.BooleanField(default=False, help_text="The released plan that the floor works to."),
            ),
            ("orders_planned", models.PositiveIntegerField(default=0)),
            ("orders_late", models.PositiveIntegerField(default=0)),
            (
                "late_hours",
                models.DecimalField(decimal_places=1, default=0, help_text="Weighted.", max_digits=12),
            ),
            (
                "rule_late_hours",
                models.DecimalField(
                    decimal_places=1,
                    default=0,
                    help_text="Weighted, by the best simple dispatching rule.",
                    max_digits=12,
                ),
            ),
            (
                "bound_late_hours",
                models.DecimalField(blank=True, decimal_places=1, max_digits=12, null=True),
            ),
            ("sheets", models.PositiveIntegerField(default=0)),
            (
                "sheet_use",
                models.DecimalField(
                    decimal_places=4,
                    default=0,
                    help_text="Area of parts over area of sheet used, 0 to 1.",
                    max_digits=5,
                ),
            ),
            ("run_seconds", models.DecimalField(decimal_places=1, default=0, max_digits=8)),
            (
                "asked_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.SET_NULL,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "based_on",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.SET_NULL,
                    related_name="+",
                    to="production.plan",
                ),
            ),
            (
                "released_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
        ],
        options={
            "ordering": ["-number"],
            "permissions": [
                ("run_plan", "May make a plan"),
                ("release_plan", "May release a plan to the floor"),
            ],
        },
    ),
    migrations.CreateModel(
        name="OrderForecast",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("parts_on", models.DateField(help_text="The day its last part is there.")),
            ("finishes_at", models.DateTimeField()),
            ("due_on", models.DateField()),
            ("days_late", models.IntegerField(default=0)),
            (
                "order",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="forecasts",
                    to="production.order",
                ),
            ),
            (
                "plan",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="forecasts",
                    to="production.plan",
                ),
            ),
        ],
        options={
            "ordering": ["plan", "-days_late", "finishes_at"],
        },
    ),
    migrations.AddField(
        model_name="galvanisingload",
        name="plan",
        field=models.ForeignKey(
            blank=True,
            help_text="The plan that chose it; none from the time before the first plan.",
            null=True,
            on_delete=django.db.models.deletion.CASCADE,
            related_name="loads",
            to="production.plan",
        ),
    ),
    migrations.CreateModel(
        name="DelayCause",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("sequence", models.PositiveSmallIntegerField()),
            ("kind", models.CharField(max_length=20)),
            ("sentence", models.CharField(max_length=300)),
            (
                "order",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="causes",
                    to="production.order",
                ),
            ),
            (
                "other_order",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.SET_NULL,
                    related_name="+",
                    to="production.order",
                ),
            ),
            (
                "plan",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="causes",
                    to="production.plan",
                ),
            ),
        ],
        options={
            "ordering": ["plan", "order", "sequence"],
        },
    ),
    migrations.AddField(
        model_name="cutbatch",
        name="plan",
        field=models.ForeignKey(
            on_delete=django.db.models.deletion.CASCADE, related_name="cut_batches", to="production.plan"
        ),
    ),
    migrations.AddField(
        model_name="curetrial",
        name="plan",
        field=models.ForeignKey(
            on_delete=django.db.models.deletion.CASCADE, related_name="cure_trials", to="production.plan"
        ),
    ),
    migrations.CreateModel(
        name="BookNeed",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("quantity", models.DecimalField(decimal_places=6, max_digits=20)),
            ("orders", models.PositiveIntegerField(help_text="How many of the orders need it.")),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="book_needs", to="bom.item"
                ),
            ),
            (
                "plan",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="book_needs",
                    to="production.plan",
                ),
            ),
        ],
        options={
            "ordering": ["plan", "item"],
        },
    ),
    migrations.AddField(
        model_name="batchrenest",
        name="plan",
        field=models.ForeignKey(
            on_delete=django.db.models.deletion.CASCADE, related_name="+", to="production.plan"
        ),
    ),
    migrations.CreateModel(
        name="BarGather",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "state",
                models.CharField(
                    choices=[
                        ("queued", "waiting its turn"),
                        ("running", "running"),
                        ("finished", "finished"),
                    ],
                    default="queued",
                    max_length=10,
                ),
            ),
            (
                "outcome",
                models.CharField(
                    blank=True,
                    choices=[
                        ("", "not yet known"),
                        ("succeeded", "succeeded"),
                        ("failed", "failed"),
                        ("cancelled", "cancelled"),
                    ],
                    default="",
                    max_length=10,
                ),
            ),
            ("percent", models.PositiveSmallIntegerField(default=0)),
            ("step", models.CharField(blank=True, max_length=200)),
            ("failure", models.TextField(blank=True)),
            ("cancel_asked", models.BooleanField(default=False)),
            ("asked_at", models.DateTimeField(auto_now_add=True)),
            ("started_at", models.DateTimeField(blank=True, null=True)),
            ("heartbeat_at", models.DateTimeField(blank=True, null=True)),
            ("finished_at", models.DateTimeField(blank=True, null=True)),
            ("said", models.CharField(blank=True, max_length=200)),
            (
                "asked_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.SET_NULL,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "item",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="+",
                    to="bom.item",
                ),
            ),
            (
                "plan",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE, related_name="+", to="production.plan"
                ),
            ),
        ],
        options={
            "ordering": ["-pk"],
        },
    ),
    migrations.CreateModel(
        name="BarBatch",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("number", models.CharField(max_length=20, unique=True)),
            (
                "state",
                models.CharField(
                    choices=[("released", "released"), ("begun", "begun"), ("done", "done")],
                    default="released",
                    max_length=10,
                ),
            ),
            ("needed_on", models.DateField()),
            ("starts_at", models.DateTimeField(blank=True, null=True)),
            ("kerf_mm", models.DecimalField(decimal_places=1, max_digits=4)),
            ("trim_mm", models.DecimalField(decimal_places=1, max_digits=5)),
            ("shortest_offcut_mm", models.DecimalField(decimal_places=1, max_digits=6)),
            ("cost", models.DecimalField(decimal_places=2, default=0, max_digits=12)),
            ("bound", models.DecimalField(decimal_places=2, default=0, max_digits=12)),
            ("first_fit_cost", models.DecimalField(decimal_places=2, default=0, max_digits=12)),
            (
                "is_proven",
                models.BooleanField(default=False, help_text="No cheaper plan of bars exists."),
            ),
            ("waste", models.DecimalField(decimal_places=4, default=0, max_digits=5)),
            (
                "said",
                models.CharField(blank=True, help_text="Pieces that found no bar, and why.", max_length=300),
            ),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="bar_batches", to="bom.item"
                ),
            ),
            (
                "plan",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="bar_batches",
                    to="production.plan",
                ),
            ),
        ],
        options={
            "verbose_name_plural": "bar batches",
            "ordering": ["starts_at", "number"],
        },
    ),
    migrations.CreateModel(
        name="PlanNote",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("sequence", models.PositiveSmallIntegerField()),
            ("sentence", models.CharField(max_length=400)),
            (
                "plan",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="notes",
                    to="production.plan",
                ),
            ),
        ],
        options={
            "ordering": ["plan", "sequence"],
        },
    ),
    migrations.CreateModel(
        name="PlanQuestion",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("sealed", models.BinaryField()),
            (
                "plan",
                models.OneToOneField(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="question",
                    to="production.plan",
                ),
            ),
        ],
        options={
            "ordering": ["plan"],
        },
    ),
    migrations.CreateModel(
        name="Plug",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "poles",
                models.PositiveSmallIntegerField(
                    choices=[(7, "7, ISO 1724"), (13, "13, ISO 11446")], verbose_name="contacts"
                ),
            ),
            (
                "item",
                models.OneToOneField(
                    on_delete=django.db.models.deletion.CASCADE, related_name="plug", to="bom.item"
                ),
            ),
        ],
        options={
            "ordering": ["item"],
        },
    ),
    migrations.CreateModel(
        name="PowderBatch",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("number", models.CharField(max_length=20, unique=True)),
            (
                "state",
                models.CharField(
                    choices=[
                        ("proposed", "proposed"),
                        ("released", "released"),
                        ("begun", "begun"),
                        ("done", "done"),
                        ("dropped", "dropped"),
                    ],
                    default="proposed",
                    max_length=10,
                ),
            ),
            ("starts_at", models.DateTimeField()),
            ("ends_at", models.DateTimeField()),
            ("change_minutes", models.PositiveSmallIntegerField(default=0)),
            ("frames", models.PositiveSmallIntegerField(help_text="How many the oven holds.")),
            ("began_at", models.DateTimeField(blank=True, null=True)),
            ("finished_at", models.DateTimeField(blank=True, null=True)),
            (
                "by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "colour",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="powder_batches",
                    to="bom.colour",
                ),
            ),
            (
                "plan",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="powder_batches",
                    to="production.plan",
                ),
            ),
        ],
        options={
            "verbose_name_plural": "powder batches",
            "ordering": ["starts_at", "number"],
        },
    ),
    migrations.CreateModel(
        name="PowderLine",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "outcome",
                models.CharField(
                    blank=True,
                    choices=[
                        ("", "not judged yet"),
                        ("good", "good"),
                        ("accepted", "accepted as it is"),
                        ("again", "to be coated again"),
                    ],
                    default="",
                    max_length=8,
                ),
            ),
            ("reason", models.CharField(blank=True, max_length=200)),
            ("judged_at", models.DateTimeField(blank=True, null=True)),
            (
                "batch",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="lines",
                    to="production.powderbatch",
                ),
            ),
            (
                "judged_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "order",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="powder_lines",
                    to="production.order",
                ),
            ),
            (
                "repeats",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="repeated_by",
                    to="production.powderline",
                ),
            ),
        ],
        options={
            "ordering": ["batch", "order"],
        },
    ),
    migrations.CreateModel(
        name="PowderStep",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "step",
                models.CharField(
                    choices=[
                        ("sweep", "sweep blast"),
                        ("degas", "de-gas"),
                        ("coat", "coat"),
                        ("cure", "cure"),
                    ],
                    max_length=6,
                ),
            ),
            ("began_at", models.DateTimeField()),
            ("ended_at", models.DateTimeField(blank=True, null=True)),
            ("temperature_c", models.PositiveSmallIntegerField(blank=True, null=True)),
            (
                "why_sooner",
                models.CharField(
                    blank=True, help_text="Where it ended before its least time.", max_length=200
                ),
            ),
            (
                "batch",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="steps",
                    to="production.powderbatch",
                ),
            ),
            (
                "by",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
        ],
        options={
            "ordering": ["batch", "began_at", "pk"],
        },
    ),
    migrations.CreateModel(
        name="PromiseRun",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "state",
                models.CharField(
                    choices=[
                        ("queued", "waiting its turn"),
                        ("running", "running"),
                        ("finished", "finished"),
                    ],
                    default="queued",
                    max_length=10,
                ),
            ),
            (
                "outcome",
                models.CharField(
                    blank=True,
                    choices=[
                        ("", "not yet known"),
                        ("succeeded", "succeeded"),
                        ("failed", "failed"),
                        ("cancelled", "cancelled"),
                    ],
                    default="",
                    max_length=10,
                ),
            ),
            ("percent", models.PositiveSmallIntegerField(default=0)),
            ("step", models.CharField(blank=True, max_length=200)),
            ("failure", models.TextField(blank=True)),
            ("cancel_asked", models.BooleanField(default=False)),
            ("asked_at", models.DateTimeField(auto_now_add=True)),
            ("started_at", models.DateTimeField(blank=True, null=True)),
            ("heartbeat_at", models.DateTimeField(blank=True, null=True)),
            ("finished_at", models.DateTimeField(blank=True, null=True)),
            ("futures", models.PositiveIntegerField(default=1000)),
            ("earliest_at", models.DateTimeField(blank=True, null=True)),
            (
                "because",
                models.CharField(blank=True, help_text="What keeps it from being sooner.", max_length=300),
            ),
            ("seconds", models.DecimalField(decimal_places=2, default=0, max_digits=7)),
            ("promised_on", models.DateField(blank=True, null=True)),
            ("wanted_chance", models.DecimalField(blank=True, decimal_places=3, max_digits=4, null=True)),
            ("promised_at", models.DateTimeField(blank=True, null=True)),
            (
                "asked_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.SET_NULL,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "order",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="promise_runs",
                    to="production.order",
                ),
            ),
            (
                "plan",
                models.ForeignKey(
                    null=True,
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="promise_runs",
                    to="production.plan",
                ),
            ),
            (
                "promised_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.SET_NULL,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
        ],
        options={
            "ordering": ["-pk"],
        },
    ),
    migrations.CreateModel(
        name="PromisePoint",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("on", models.DateField()),
            ("share", models.DecimalField(decimal_places=4, max_digits=5)),
            (
                "run",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="points",
                    to="production.promiserun",
                ),
            ),
        ],
        options={
            "ordering": ["run", "on"],
        },
    ),
    migrations.CreateModel(
        name="RatingRecord",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("number", models.PositiveSmallIntegerField()),
            ("made_at", models.DateTimeField(auto_now_add=True)),
            ("reason", models.CharField(max_length=200)),
            ("market", models.CharField(blank=True, max_length=8)),
            ("rule_issue", models.PositiveIntegerField(default=0)),
            ("rules_on", models.DateField()),
            ("own_kg", models.DecimalField(decimal_places=3, max_digits=9)),
            (
                "overall",
                models.CharField(
                    choices=[
                        ("met", "met"),
                        ("not met", "not met"),
                        ("needs a person", "needs a person"),
                    ],
                    max_length=16,
                ),
            ),
            ("note", models.CharField(blank=True, max_length=300)),
            (
                "made_by",
                models.ForeignKey(
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "order",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="ratings",
                    to="production.order",
                ),
            ),
        ],
        options={
            "ordering": ["order", "-number"],
        },
    ),
    migrations.CreateModel(
        name="RatingResult",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("sequence", models.PositiveSmallIntegerField()),
            ("code", models.CharField(max_length=20)),
            ("name", models.CharField(max_length=80)),
            (
                "outcome",
                models.CharField(
                    choices=[
                        ("met", "met"),
                        ("not met", "not met"),
                        ("needs a person", "needs a person"),
                    ],
                    max_length=16,
                ),
            ),
            ("says", models.CharField(max_length=400)),
            ("working", models.CharField(blank=True, max_length=400)),
            ("margin", models.DecimalField(blank=True, decimal_places=4, max_digits=8, null=True)),
            ("clauses", models.CharField(blank=True, max_length=400)),
            (
                "is_verified",
                models.BooleanField(
                    default=False, help_text="Every rule it rests on was verified by a person."
                ),
            ),
            (
                "rating",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="results",
                    to="production.ratingrecord",
                ),
            ),
        ],
        options={
            "ordering": ["rating", "sequence"],
        },
    ),
    migrations.CreateModel(
        name="Recall",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("number", models.CharField(max_length=20, unique=True)),
            ("reason", models.CharField(max_length=300)),
            ("at", models.DateTimeField(auto_now_add=True)),
            (
                "by",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
        ],
        options={
            "ordering": ["-pk"],
            "permissions": [("open_recall", "May open a recall and say who was told")],
        },
    ),
    migrations.CreateModel(
        name="RecallTrailer",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("told_on", models.DateField(blank=True, null=True)),
            ("done_on", models.DateField(blank=True, null=True)),
            (
                "by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "order",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="recalls",
                    to="production.order",
                ),
            ),
            (
                "recall",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="trailers",
                    to="production.recall",
                ),
            ),
        ],
        options={
            "ordering": ["recall", "order"],
        },
    ),
    migrations.CreateModel(
        name="SawBar",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("number", models.PositiveSmallIntegerField()),
            ("length_mm", models.DecimalField(decimal_places=1, max_digits=8)),
            ("rest_mm", models.DecimalField(decimal_places=1, max_digits=8)),
            (
                "state",
                models.CharField(
                    choices=[("waiting", "waiting"), ("begun", "begun"), ("done", "done")],
                    default="waiting",
                    max_length=10,
                ),
            ),
            ("began_at", models.DateTimeField(blank=True, null=True)),
            ("finished_at", models.DateTimeField(blank=True, null=True)),
            ("problem", models.CharField(blank=True, max_length=200)),
            ("cast", models.CharField(blank=True, max_length=60)),
            (
                "batch",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="bars",
                    to="production.barbatch",
                ),
            ),
            (
                "by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "lot",
                models.ForeignKey(
                    blank=True,
                    help_text="The offcut it is planned on; from done on, the lot it was taken from.",
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="saw_bars",
                    to="inventory.lot",
                ),
            ),
            (
                "offcut",
                models.OneToOneField(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="left_of_bar",
                    to="inventory.lot",
                ),
            ),
            (
                "posting",
                models.OneToOneField(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="saw_bar",
                    to="inventory.posting",
                ),
            ),
        ],
        options={
            "ordering": ["batch", "number"],
        },
    ),
    migrations.CreateModel(
        name="SawCut",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("sequence", models.PositiveSmallIntegerField()),
            ("length_mm", models.DecimalField(decimal_places=1, max_digits=8)),
            ("first_deg", models.DecimalField(decimal_places=1, default=0, max_digits=4)),
            ("second_deg", models.DecimalField(decimal_places=1, default=0, max_digits=4)),
            (
                "state",
                models.CharField(
                    choices=[
                        ("waiting", "waiting"),
                        ("good", "good"),
                        ("scrap", "scrap"),
                        ("lost", "lost"),
                    ],
                    default="waiting",
                    max_length=8,
                ),
            ),
            ("reason", models.CharField(blank=True, max_length=120)),
            (
                "bar",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="cuts",
                    to="production.sawbar",
                ),
            ),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="saw_cuts", to="bom.item"
                ),
            ),
            (
                "order",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="saw_cuts",
                    to="production.order",
                ),
            ),
        ],
        options={
            "ordering": ["bar", "sequence"],
        },
    ),
    migrations.CreateModel(
        name="SawRules",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "kerf_mm",
                models.DecimalField(
                    decimal_places=1,
                    default=3,
                    max_digits=4,
                    validators=[
                        django.core.validators.MinValueValidator(0),
                        django.core.validators.MaxValueValidator(20),
                    ],
                ),
            ),
            (
                "trim_mm",
                models.DecimalField(
                    decimal_places=1,
                    default=15,
                    help_text="Cut off the end of every bar, its own saw cut counted in.",
                    max_digits=5,
                    validators=[
                        django.core.validators.MinValueValidator(0),
                        django.core.validators.MaxValueValidator(500),
                    ],
                ),
            ),
            (
                "shortest_offcut_mm",
                models.DecimalField(
                    decimal_places=1,
                    default=500,
                    help_text="A rest at least this long goes back to a shelf.",
                    max_digits=6,
                    validators=[
                        django.core.validators.MinValueValidator(0),
                        django.core.validators.MaxValueValidator(12000),
                    ],
                ),
            ),
            (
                "window_days",
                models.PositiveSmallIntegerField(
                    default=3,
                    help_text="What is planned at the saw within so many days is sawn together.",
                    validators=[
                        django.core.validators.MinValueValidator(1),
                        django.core.validators.MaxValueValidator(30),
                    ],
                ),
            ),
        ],
        options={
            "verbose_name_plural": "saw rules",
            "constraints": [
                models.CheckConstraint(condition=models.Q(("pk", 1)), name="saw_rules_are_one_row")
            ],
        },
    ),
    migrations.CreateModel(
        name="Seal",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("number", models.PositiveIntegerField(unique=True)),
            ("rows", models.PositiveIntegerField()),
            ("previous", models.CharField(blank=True, max_length=64)),
            ("digest", models.CharField(max_length=64, unique=True)),
            ("at", models.DateTimeField()),
            (
                "by",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "order",
                models.OneToOneField(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="seal",
                    to="production.order",
                ),
            ),
        ],
        options={
            "ordering": ["number"],
        },
    ),
    migrations.CreateModel(
        name="SerialPlate",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("mark", models.CharField(max_length=6)),
            ("number", models.PositiveIntegerField()),
            ("vin", models.CharField(max_length=17, unique=True)),
            ("model_year", models.PositiveSmallIntegerField()),
            ("max_mass_kg", models.PositiveIntegerField()),
            ("axles", models.PositiveSmallIntegerField()),
            ("reason", models.CharField(blank=True, max_length=200)),
            ("at", models.DateTimeField(auto_now_add=True)),
            (
                "by",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "instead_of",
                models.OneToOneField(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="followed_by",
                    to="production.serialplate",
                ),
            ),
            (
                "order",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="plates",
                    to="production.order",
                ),
            ),
        ],
        options={
            "ordering": ["mark", "number"],
            "permissions": [("give_plate", "May give a trailer its serial plate")],
        },
    ),
    migrations.CreateModel(
        name="SetUpRecord",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("hull_kg", models.DecimalField(decimal_places=3, max_digits=9)),
            ("hull_length_mm", models.DecimalField(decimal_places=1, max_digits=8)),
            ("bow_to_transom_mm", models.DecimalField(decimal_places=1, max_digits=8)),
            (
                "centre_mm",
                models.DecimalField(
                    decimal_places=1,
                    help_text="Hull's centre of gravity, forward from the transom.",
                    max_digits=8,
                ),
            ),
            ("centre_is", models.CharField(max_length=10)),
            ("gear_kg", models.DecimalField(decimal_places=3, max_digits=9)),
            ("gear_at_mm", models.DecimalField(decimal_places=1, max_digits=8)),
            ("body_kg", models.DecimalField(decimal_places=3, max_digits=9)),
            ("body_at_mm", models.DecimalField(decimal_places=1, max_digits=8)),
            ("running_gear_kg", models.DecimalField(decimal_places=3, max_digits=9)),
            ("axle_from_mm", models.DecimalField(decimal_places=1, max_digits=8)),
            ("axle_to_mm", models.DecimalField(decimal_places=1, max_digits=8)),
            ("post_from_mm", models.DecimalField(decimal_places=1, max_digits=8)),
            ("post_to_mm", models.DecimalField(decimal_places=1, max_digits=8)),
            ("bow_behind_post_mm", models.DecimalField(decimal_places=1, max_digits=8)),
            ("rear_support_mm", models.DecimalField(decimal_places=1, max_digits=8)),
            ("front_support_from_mm", models.DecimalField(decimal_places=1, max_digits=8)),
            ("spread_mm", models.DecimalField(decimal_places=1, max_digits=8)),
            ("shares_equally", models.BooleanField()),
            ("transom_before_mm", models.DecimalField(decimal_places=1, max_digits=8)),
            ("transom_beyond_mm", models.DecimalField(decimal_places=1, max_digits=8)),
            ("step_mm", models.DecimalField(decimal_places=1, max_digits=8)),
            (
                "length_mm",
                models.DecimalField(
                    decimal_places=1, help_text="The trailer's, from the coupling.", max_digits=8
                ),
            ),
            ("drawbar_mm", models.DecimalField(decimal_places=1, max_digits=8)),
            ("wanted_share", models.DecimalField(decimal_places=4, max_digits=6)),
            ("rear_share", models.DecimalField(decimal_places=4, max_digits=6)),
            (
                "wanted_kg",
                models.DecimalField(
                    blank=True,
                    decimal_places=3,
                    help_text="Nose load wanted outright.",
                    max_digits=9,
                    null=True,
                ),
            ),
            ("axle_mm", models.DecimalField(decimal_places=1, max_digits=8)),
            ("post_mm", models.DecimalField(decimal_places=1, max_digits=8)),
            ("transom_mm", models.DecimalField(decimal_places=1, max_digits=8)),
            ("front_support_mm", models.DecimalField(decimal_places=1, max_digits=8)),
            ("laden_kg", models.DecimalField(decimal_places=3, max_digits=9)),
            ("nose_kg", models.DecimalField(decimal_places=3, max_digits=9)),
            ("front_axle_kg", models.DecimalField(decimal_places=3, max_digits=9)),
            ("rear_axle_kg", models.DecimalField(blank=True, decimal_places=3, max_digits=9, null=True)),
            ("is_wanted_met", models.BooleanField()),
            (
                "rating",
                models.OneToOneField(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="set_up",
                    to="production.ratingrecord",
                ),
            ),
        ],
        options={
            "ordering": ["rating"],
        },
    ),
    migrations.CreateModel(
        name="Silence",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("at", models.DateTimeField()),
            ("until", models.DateField(help_text="The last day of silence.")),
            ("reason", models.CharField(max_length=200)),
            (
                "ended_at",
                models.DateTimeField(blank=True, help_text="By news, by a person, or by its day.", null=True),
            ),
            (
                "alert",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="silences",
                    to="production.alert",
                ),
            ),
            (
                "by",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
        ],
        options={
            "ordering": ["alert", "-at"],
        },
    ),
    migrations.CreateModel(
        name="Skill",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("code", models.SlugField(max_length=20, unique=True)),
            ("name", models.CharField(max_length=60)),
            (
                "process",
                models.OneToOneField(
                    on_delete=django.db.models.deletion.PROTECT, related_name="skill", to="bom.process"
                ),
            ),
        ],
        options={
            "ordering": ["process__sequence", "code"],
        },
    ),
    migrations.CreateModel(
        name="Source",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "kind",
                models.CharField(
                    choices=[
                        ("lot", "lot"),
                        ("serial", "serial number"),
                        ("cast", "steel cast"),
                        ("load", "galvanising load"),
                        ("powder", "powder batch"),
                    ],
                    max_length=8,
                ),
            ),
            ("code", models.CharField(db_index=True, max_length=60)),
            (
                "item",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="built_sources",
                    to="bom.item",
                ),
            ),
            (
                "lot",
                models.OneToOneField(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="built_source",
                    to="inventory.lot",
                ),
            ),
            (
                "supplier",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="built_sources",
                    to="inventory.supplier",
                ),
            ),
        ],
        options={
            "ordering": ["code", "pk"],
        },
    ),
    migrations.AddField(
        model_name="recall",
        name="source",
        field=models.ForeignKey(
            on_delete=django.db.models.deletion.PROTECT, related_name="recalls", to="production.source"
        ),
    ),
    migrations.CreateModel(
        name="Origin",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "made_from",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="became",
                    to="production.source",
                ),
            ),
            (
                "source",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="origins",
                    to="production.source",
                ),
            ),
        ],
        options={
            "ordering": ["pk"],
        },
    ),
    migrations.CreateModel(
        name="Claim",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("number", models.CharField(max_length=20, unique=True)),
            ("key", models.CharField(max_length=60, unique=True)),
            (
                "cause",
                models.CharField(
                    choices=[
                        ("material", "material or casting"),
                        ("weld", "weld"),
                        ("coating", "zinc or powder"),
                        ("bought", "bought part failed"),
                        ("fitting", "fitted wrongly"),
                        ("use", "use or wear"),
                        ("unknown", "not known yet"),
                    ],
                    max_length=10,
                ),
            ),
            ("words", models.CharField(max_length=300)),
            ("reported_on", models.DateField()),
            ("cost", models.DecimalField(decimal_places=2, default=0, max_digits=10)),
            ("at", models.DateTimeField(auto_now_add=True)),
            (
                "by",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="claims", to="bom.item"
                ),
            ),
            (
                "order",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="claims",
                    to="production.order",
                ),
            ),
            (
                "source",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="claims",
                    to="production.source",
                ),
            ),
        ],
        options={
            "ordering": ["-reported_on", "-pk"],
            "permissions": [("write_claim", "May write warranty claims down")],
        },
    ),
    migrations.CreateModel(
        name="BuiltRow",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "kind",
                models.CharField(
                    choices=[
                        ("part", "part"),
                        ("coated", "coated"),
                        ("person", "person"),
                        ("measured", "measured"),
                        ("document", "document"),
                    ],
                    max_length=8,
                ),
            ),
            ("quantity", models.DecimalField(blank=True, decimal_places=4, max_digits=14, null=True)),
            ("words", models.CharField(blank=True, max_length=300)),
            ("at", models.DateTimeField(blank=True, null=True)),
            (
                "by",
                models.ForeignKey(
                    blank=True,
                    db_index=False,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "item",
                models.ForeignKey(
                    blank=True,
                    db_index=False,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to="bom.item",
                ),
            ),
            (
                "order",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="built_rows",
                    to="production.order",
                ),
            ),
            (
                "source",
                models.ForeignKey(
                    blank=True,
                    db_index=False,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="built_rows",
                    to="production.source",
                ),
            ),
        ],
        options={
            "ordering": ["order", "pk"],
        },
    ),
    migrations.CreateModel(
        name="StopDecision",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("outline", models.CharField(max_length=64)),
            (
                "decision",
                models.CharField(
                    choices=[("cut", "cut it as laid out"), ("scrap", "do not use it, cut it anew")],
                    max_length=6,
                ),
            ),
            ("note", models.CharField(max_length=200)),
            ("at", models.DateTimeField(auto_now_add=True)),
            (
                "by",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "laid",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="decisions",
                    to="production.laidpart",
                ),
            ),
            (
                "revision",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to="bom.revision",
                ),
            ),
        ],
        options={
            "ordering": ["laid", "-at", "-id"],
        },
    ),
    migrations.CreateModel(
        name="Suggestion",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("number", models.PositiveIntegerField()),
            ("kind", models.CharField(choices=[("buy", "buy"), ("make", "make")], max_length=4)),
            ("quantity", models.DecimalField(decimal_places=4, max_digits=14)),
            ("begin_on", models.DateField(help_text="Order or start on this day.")),
            ("needed_on", models.DateField()),
            (
                "days_past",
                models.PositiveSmallIntegerField(
                    default=0, help_text="Working days by which it should have begun before today."
                ),
            ),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="suggestions", to="bom.item"
                ),
            ),
            (
                "plan",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="suggestions",
                    to="production.plan",
                ),
            ),
            (
                "purchase_line",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.SET_NULL,
                    related_name="suggestions",
                    to="inventory.purchaseorderline",
                ),
            ),
        ],
        options={
            "ordering": ["plan", "begin_on", "number"],
        },
    ),
    migrations.CreateModel(
        name="Shortage",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("quantity", models.DecimalField(decimal_places=4, max_digits=14)),
            ("needed_on", models.DateField()),
            ("available_on", models.DateField()),
            ("days_short", models.PositiveSmallIntegerField()),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="shortages", to="bom.item"
                ),
            ),
            (
                "order",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="shortages",
                    to="production.order",
                ),
            ),
            (
                "plan",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="shortages",
                    to="production.plan",
                ),
            ),
            (
                "purchase_line",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.SET_NULL,
                    related_name="shortages",
                    to="inventory.purchaseorderline",
                ),
            ),
            (
                "suggestion",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.SET_NULL,
                    related_name="shortages",
                    to="production.suggestion",
                ),
            ),
        ],
        options={
            "ordering": ["plan", "-days_short", "needed_on"],
        },
    ),
    migrations.CreateModel(
        name="Peg",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "source",
                models.CharField(
                    choices=[
                        ("shelf", "on the shelf"),
                        ("receipt", "coming"),
                        ("suggestion", "suggested"),
                    ],
                    max_length=10,
                ),
            ),
            ("quantity", models.DecimalField(decimal_places=4, max_digits=14)),
            ("needed_on", models.DateField()),
            ("available_on", models.DateField()),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="pegs", to="bom.item"
                ),
            ),
            (
                "order",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="pegs",
                    to="production.order",
                ),
            ),
            (
                "purchase_line",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="pegs",
                    to="inventory.purchaseorderline",
                ),
            ),
            (
                "plan",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE, related_name="pegs", to="production.plan"
                ),
            ),
            (
                "suggestion",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="pegs",
                    to="production.suggestion",
                ),
            ),
        ],
        options={
            "ordering": ["plan", "order", "item"],
        },
    ),
    migrations.CreateModel(
        name="AlertAct",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("rank", models.PositiveSmallIntegerField()),
            (
                "kind",
                models.CharField(
                    choices=[
                        ("buy", "buy"),
                        ("expedite", "bring forward"),
                        ("move", "move from another order"),
                        ("substitute", "use another part"),
                    ],
                    max_length=10,
                ),
            ),
            ("words", models.CharField(max_length=300)),
            (
                "alert",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="acts",
                    to="production.alert",
                ),
            ),
            (
                "instead",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="+",
                    to="bom.item",
                ),
            ),
            (
                "purchase_line",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="+",
                    to="inventory.purchaseorderline",
                ),
            ),
            (
                "from_order",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="+",
                    to="production.order",
                ),
            ),
            (
                "suggestion",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.SET_NULL,
                    related_name="+",
                    to="production.suggestion",
                ),
            ),
        ],
        options={
            "ordering": ["alert", "rank"],
        },
    ),
    migrations.CreateModel(
        name="SupplyChange",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "kind",
                models.CharField(
                    choices=[
                        ("forward", "bring forward"),
                        ("back", "push back"),
                        ("cancel", "cancel"),
                        ("split", "split"),
                        ("substitute", "take another"),
                    ],
                    max_length=10,
                ),
            ),
            ("quantity", models.DecimalField(decimal_places=4, max_digits=14)),
            ("stands_on", models.DateField(help_text="The day on which it comes as things stand.")),
            (
                "wanted_on",
                models.DateField(blank=True, help_text="None: it is not wanted at all.", null=True),
            ),
            (
                "late_days",
                models.PositiveSmallIntegerField(
                    default=0, help_text="Working days that the order which waits longest waits for it."
                ),
            ),
            ("money", models.DecimalField(decimal_places=2, default=0, max_digits=14)),
            ("sentence", models.CharField(max_length=300)),
            (
                "instead",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to="bom.item",
                ),
            ),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="+", to="bom.item"
                ),
            ),
            ("orders", models.ManyToManyField(blank=True, related_name="+", to="production.order")),
            (
                "plan",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="changes_of_supply",
                    to="production.plan",
                ),
            ),
            (
                "purchase_line",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="+",
                    to="inventory.purchaseorderline",
                ),
            ),
        ],
        options={
            "ordering": ["plan", "-late_days", "-money"],
        },
    ),
    migrations.CreateModel(
        name="Swap",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("quantity", models.DecimalField(decimal_places=4, max_digits=14)),
            ("note", models.CharField(blank=True, max_length=200)),
            ("at", models.DateTimeField(auto_now_add=True)),
            (
                "by",
                models.ForeignKey(
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "instead",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="+", to="bom.item"
                ),
            ),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="+", to="bom.item"
                ),
            ),
            (
                "order",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="swaps",
                    to="production.order",
                ),
            ),
        ],
        options={
            "ordering": ["order", "id"],
            "permissions": [("accept_substitute", "May take a substitute for an order")],
        },
    ),
    migrations.CreateModel(
        name="ThicknessReading",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("spot", models.CharField(max_length=60)),
            ("total_um", models.DecimalField(decimal_places=1, max_digits=6)),
            ("zinc_um", models.DecimalField(decimal_places=1, default=Decimal("0"), max_digits=6)),
            ("least_um", models.PositiveSmallIntegerField(blank=True, null=True)),
            ("most_um", models.PositiveSmallIntegerField(blank=True, null=True)),
            ("at", models.DateTimeField()),
            (
                "by",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "line",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="readings",
                    to="production.powderline",
                ),
            ),
        ],
        options={
            "ordering": ["line", "at", "pk"],
        },
    ),
    migrations.CreateModel(
        name="ThicknessRule",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("least_um", models.PositiveSmallIntegerField()),
            ("most_um", models.PositiveSmallIntegerField()),
            (
                "readings",
                models.PositiveSmallIntegerField(default=5, help_text="At least so many on each frame."),
            ),
            (
                "source",
                models.CharField(blank=True, help_text="Where the figures come from.", max_length=160),
            ),
            ("at", models.DateTimeField(auto_now_add=True)),
            (
                "by",
                models.ForeignKey(
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
        ],
        options={
            "ordering": ["-at", "-pk"],
        },
    ),
    migrations.CreateModel(
        name="TimeCorrection",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("factor", models.DecimalField(decimal_places=3, max_digits=5)),
            (
                "operations",
                models.PositiveIntegerField(help_text="How many finished operations it was taken from."),
            ),
            ("at", models.DateTimeField(auto_now_add=True)),
            ("undone_at", models.DateTimeField(blank=True, null=True)),
            (
                "by",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "process",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="corrections",
                    to="bom.process",
                ),
            ),
        ],
        options={
            "ordering": ["-at", "-pk"],
            "permissions": [("correct_times", "May correct standard times from what the floor took")],
        },
    ),
    migrations.CreateModel(
        name="TowingVehicle",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("name", models.CharField(max_length=80)),
            ("max_mass_kg", models.PositiveIntegerField(blank=True, null=True)),
            ("unladen_kg", models.PositiveIntegerField(blank=True, null=True)),
            ("braked_kg", models.PositiveIntegerField(blank=True, null=True)),
            ("unbraked_kg", models.PositiveIntegerField(blank=True, null=True)),
            ("nose_kg", models.PositiveIntegerField(blank=True, null=True)),
            ("train_kg", models.PositiveIntegerField(blank=True, null=True)),
            ("d_kn", models.DecimalField(blank=True, decimal_places=2, max_digits=6, null=True)),
            (
                "order",
                models.OneToOneField(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="vehicle",
                    to="production.order",
                ),
            ),
        ],
        options={
            "ordering": ["order"],
        },
    ),
    migrations.CreateModel(
        name="WeekPaper",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "state",
                models.CharField(
                    choices=[
                        ("queued", "waiting its turn"),
                        ("running", "running"),
                        ("finished", "finished"),
                    ],
                    default="queued",
                    max_length=10,
                ),
            ),
            (
                "outcome",
                models.CharField(
                    blank=True,
                    choices=[
                        ("", "not yet known"),
                        ("succeeded", "succeeded"),
                        ("failed", "failed"),
                        ("cancelled", "cancelled"),
                    ],
                    default="",
                    max_length=10,
                ),
            ),
            ("percent", models.PositiveSmallIntegerField(default=0)),
            ("step", models.CharField(blank=True, max_length=200)),
            ("failure", models.TextField(blank=True)),
            ("cancel_asked", models.BooleanField(default=False)),
            ("asked_at", models.DateTimeField(auto_now_add=True)),
            ("started_at", models.DateTimeField(blank=True, null=True)),
            ("heartbeat_at", models.DateTimeField(blank=True, null=True)),
            ("finished_at", models.DateTimeField(blank=True, null=True)),
            ("key", models.CharField(max_length=80, unique=True)),
            ("monday", models.DateField()),
            ("pdf", models.BinaryField(null=True)),
            (
                "asked_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.SET_NULL,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "plan",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="week_papers",
                    to="production.plan",
                ),
            ),
        ],
        options={
            "ordering": ["-asked_at"],
        },
    ),
    migrations.CreateModel(
        name="WeldInspection",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("key", models.CharField(max_length=80, unique=True)),
            ("is_good", models.BooleanField()),
            (
                "words",
                models.CharField(blank=True, help_text="What was found, and where.", max_length=200),
            ),
            ("at", models.DateTimeField()),
            ("cleared_at", models.DateTimeField(blank=True, null=True)),
            ("clearance", models.CharField(blank=True, help_text="Why it may go on.", max_length=200)),
            (
                "by",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "card",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="inspections",
                    to="production.jobcard",
                ),
            ),
            (
                "cleared_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
        ],
        options={
            "ordering": ["-at", "-pk"],
            "permissions": [
                ("inspect_weld", "May inspect welds"),
                ("clear_weld", "May clear a weld that an inspection found not good"),
            ],
        },
    ),
    migrations.CreateModel(
        name="WindowTrial",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "state",
                models.CharField(
                    choices=[
                        ("queued", "waiting its turn"),
                        ("running", "running"),
                        ("finished", "finished"),
                    ],
                    default="queued",
                    max_length=10,
                ),
            ),
            (
                "outcome",
                models.CharField(
                    blank=True,
                    choices=[
                        ("", "not yet known"),
                        ("succeeded", "succeeded"),
                        ("failed", "failed"),
                        ("cancelled", "cancelled"),
                    ],
                    default="",
                    max_length=10,
                ),
            ),
            ("percent", models.PositiveSmallIntegerField(default=0)),
            ("step", models.CharField(blank=True, max_length=200)),
            ("failure", models.TextField(blank=True)),
            ("cancel_asked", models.BooleanField(default=False)),
            ("asked_at", models.DateTimeField(auto_now_add=True)),
            ("started_at", models.DateTimeField(blank=True, null=True)),
            ("heartbeat_at", models.DateTimeField(blank=True, null=True)),
            ("finished_at", models.DateTimeField(blank=True, null=True)),
            (
                "days",
                models.CharField(help_text="The windows tried, working days, by commas.", max_length=60),
            ),
            (
                "asked_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.SET_NULL,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
        ],
        options={
            "ordering": ["-pk"],
        },
    ),
    migrations.CreateModel(
        name="WindowOption",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("days", models.PositiveSmallIntegerField()),
            ("batches", models.PositiveIntegerField()),
            ("sheets", models.PositiveIntegerField()),
            ("sheet_m2", models.DecimalField(decimal_places=2, max_digits=10)),
            ("use", models.DecimalField(decimal_places=4, max_digits=5)),
            ("minutes", models.DecimalField(decimal_places=1, max_digits=10)),
            ("parts", models.PositiveIntegerField()),
            ("sheet_money", models.DecimalField(decimal_places=2, max_digits=12)),
            ("early_money", models.DecimalField(decimal_places=2, max_digits=12)),
            ("early_money_days", models.DecimalField(decimal_places=2, max_digits=14)),
            (
                "trial",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="options",
                    to="production.windowtrial",
                ),
            ),
        ],
        options={
            "ordering": ["trial", "days"],
        },
    ),
    migrations.CreateModel(
        name="WorkCentre",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("code", models.SlugField(max_length=20, unique=True)),
            ("name", models.CharField(max_length=60)),
            ("units", models.PositiveSmallIntegerField(default=1)),
            ("hourly_rate", models.DecimalField(decimal_places=2, default=Decimal("0"), max_digits=8)),
            ("sequence", models.PositiveSmallIntegerField(default=0)),
            (
                "calendar",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="work_centres",
                    to="production.calendar",
                ),
            ),
            (
                "process",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="work_centres",
                    to="bom.process",
                ),
            ),
        ],
        options={
            "ordering": ["sequence", "code"],
        },
    ),
    migrations.CreateModel(
        name="PlanChange",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("sequence", models.PositiveIntegerField()),
            (
                "kind",
                models.CharField(
                    choices=[("move", "moved"), ("hours", "open longer"), ("run", "extra lorry")],
                    max_length=5,
                ),
            ),
            (
                "operation",
                models.CharField(blank=True, help_text="As the scheduler calls it.", max_length=60),
            ),
            ("begins_at", models.DateTimeField(blank=True, null=True)),
            ("date", models.DateField(blank=True, null=True)),
            (
                "hours_kind",
                models.CharField(
                    blank=True, choices=[("overtime", "overtime"), ("shift", "extra shift")], max_length=8
                ),
            ),
            ("starts", models.TimeField(blank=True, null=True)),
            ("ends", models.TimeField(blank=True, null=True)),
            ("is_undone", models.BooleanField(default=False)),
            (
                "in_plan",
                models.BooleanField(default=False, help_text="Part of this plan, not tried on top of it."),
            ),
            ("at", models.DateTimeField(auto_now_add=True)),
            (
                "by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.SET_NULL,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "plan",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="changes",
                    to="production.plan",
                ),
            ),
            (
                "work_centre",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="+",
                    to="production.workcentre",
                ),
            ),
        ],
        options={
            "ordering": ["plan", "sequence"],
        },
    ),
    migrations.CreateModel(
        name="Oven",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("frames", models.PositiveSmallIntegerField()),
            ("rail_length_mm", models.PositiveIntegerField()),
            ("batch_minutes", models.PositiveSmallIntegerField()),
            ("change_to_darker_minutes", models.PositiveSmallIntegerField()),
            ("change_to_lighter_minutes", models.PositiveSmallIntegerField()),
            (
                "work_centre",
                models.OneToOneField(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="oven",
                    to="production.workcentre",
                ),
            ),
        ],
        options={
            "ordering": ["work_centre"],
        },
    ),
    migrations.CreateModel(
        name="ExtraHours",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("date", models.DateField()),
            (
                "kind",
                models.CharField(choices=[("overtime", "overtime"), ("shift", "extra shift")], max_length=8),
            ),
            ("starts", models.TimeField()),
            ("ends", models.TimeField()),
            ("at", models.DateTimeField(auto_now_add=True)),
            (
                "by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.SET_NULL,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "work_centre",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="extra_hours",
                    to="production.workcentre",
                ),
            ),
        ],
        options={
            "verbose_name_plural": "extra hours",
            "ordering": ["date", "work_centre", "kind"],
        },
    ),
    migrations.CreateModel(
        name="Downtime",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("starts_at", models.DateTimeField()),
            ("ends_at", models.DateTimeField()),
            (
                "units",
                models.PositiveSmallIntegerField(
                    blank=True,
                    help_text="How many of its bays or machines stand; none means all.",
                    null=True,
                ),
            ),
            ("reason", models.CharField(max_length=80)),
            (
                "work_centre",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="downtimes",
                    to="production.workcentre",
                ),
            ),
        ],
        options={
            "ordering": ["starts_at"],
        },
    ),
    migrations.CreateModel(
        name="DayLoad",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("date", models.DateField()),
            ("open_minutes", models.PositiveIntegerField()),
            ("planned_minutes", models.PositiveIntegerField()),
            (
                "wanted_minutes",
                models.PositiveIntegerField(
                    default=0,
                    help_text="What would fall on this day if only due dates counted: may be more than fits.",
                ),
            ),
            (
                "plan",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="day_loads",
                    to="production.plan",
                ),
            ),
            (
                "work_centre",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="day_loads",
                    to="production.workcentre",
                ),
            ),
        ],
        options={
            "ordering": ["plan", "date", "work_centre"],
        },
    ),
    migrations.CreateModel(
        name="CureStep",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "kind",
                models.CharField(
                    choices=[("move", "moved"), ("hours", "open longer"), ("run", "extra lorry")],
                    max_length=5,
                ),
            ),
            ("operation", models.CharField(blank=True, max_length=60)),
            ("begins_at", models.DateTimeField(blank=True, null=True)),
            ("date", models.DateField(blank=True, null=True)),
            (
                "hours_kind",
                models.CharField(
                    blank=True, choices=[("overtime", "overtime"), ("shift", "extra shift")], max_length=8
                ),
            ),
            ("starts", models.TimeField(blank=True, null=True)),
            ("ends", models.TimeField(blank=True, null=True)),
            (
                "option",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="steps",
                    to="production.cureoption",
                ),
            ),
            (
                "work_centre",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="+",
                    to="production.workcentre",
                ),
            ),
        ],
        options={
            "ordering": ["option", "pk"],
        },
    ),
    migrations.CreateModel(
        name="ClampZone",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("x_mm", models.DecimalField(decimal_places=1, max_digits=7, verbose_name="from the left")),
            ("y_mm", models.DecimalField(decimal_places=1, max_digits=7, verbose_name="from below")),
            ("length_mm", models.DecimalField(decimal_places=1, max_digits=7, verbose_name="length")),
            ("width_mm", models.DecimalField(decimal_places=1, max_digits=7, verbose_name="width")),
            ("note", models.CharField(blank=True, max_length=80)),
            (
                "work_centre",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="clamp_zones",
                    to="production.workcentre",
                ),
            ),
        ],
        options={
            "ordering": ["work_centre", "x_mm", "y_mm"],
            "permissions": [("set_clamps", "May say where a machine holds its sheets")],
        },
    ),
    migrations.CreateModel(
        name="CalendarAddress",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("digest", models.CharField(max_length=64, unique=True)),
            (
                "begins",
                models.CharField(
                    help_text="The token's first letters, to tell addresses apart.", max_length=6
                ),
            ),
            ("made_at", models.DateTimeField(auto_now_add=True)),
            ("read_at", models.DateTimeField(blank=True, null=True)),
            ("revoked_at", models.DateTimeField(blank=True, null=True)),
            (
                "made_by",
                models.ForeignKey(
                    null=True,
                    on_delete=django.db.models.deletion.SET_NULL,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "work_centre",
                models.ForeignKey(
                    blank=True,
                    help_text="None serves dispatch: lorries and finished trailers.",
                    null=True,
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="+",
                    to="production.workcentre",
                ),
            ),
        ],
        options={
            "ordering": ["-made_at"],
            "permissions": [("give_calendar", "May give and take back addresses of calendars")],
        },
    ),
    migrations.CreateModel(
        name="WorkCentreRate",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("from_day", models.DateField()),
            ("labour_per_hour", models.DecimalField(decimal_places=2, max_digits=8)),
            (
                "overhead_per_hour",
                models.DecimalField(decimal_places=2, default=Decimal("0"), max_digits=8),
            ),
            ("note", models.CharField(blank=True, max_length=120)),
            (
                "work_centre",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="rates",
                    to="production.workcentre",
                ),
            ),
        ],
        options={
            "ordering": ["work_centre", "-from_day"],
            "permissions": [
                ("change_rate", "May change hourly rates and allowances"),
                ("see_cost", "May see what things cost and what is earned on them"),
            ],
        },
    ),
    migrations.CreateModel(
        name="Worker",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("name", models.CharField(max_length=60, unique=True)),
            (
                "is_active",
                models.BooleanField(default=True, help_text="Works here; the plan counts on him."),
            ),
            (
                "calendar",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="workers",
                    to="production.calendar",
                ),
            ),
            ("skills", models.ManyToManyField(blank=True, related_name="workers", to="production.skill")),
        ],
        options={
            "ordering": ["name"],
            "permissions": [("change_shop", "May enter people, absences, jigs and what stands")],
        },
    ),
    migrations.CreateModel(
        name="Absence",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("starts_at", models.DateTimeField()),
            ("ends_at", models.DateTimeField()),
            ("reason", models.CharField(max_length=80)),
            (
                "entered_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.SET_NULL,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "worker",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="absences",
                    to="production.worker",
                ),
            ),
        ],
        options={
            "ordering": ["starts_at", "worker"],
        },
    ),
    migrations.CreateModel(
        name="WorkProblem",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("key", models.CharField(max_length=80, unique=True)),
            (
                "kind",
                models.CharField(
                    choices=[
                        ("missing", "a part is missing"),
                        ("wrong", "a part is wrong or damaged"),
                        ("drawing", "the drawing or list is wrong"),
                        ("machine", "a machine or tool stands"),
                        ("other", "something else"),
                    ],
                    max_length=10,
                ),
            ),
            ("words", models.CharField(max_length=200)),
            ("stops_work", models.BooleanField(default=False)),
            ("photo", models.FileField(blank=True, max_length=120, upload_to="")),
            ("photo_type", models.CharField(blank=True, max_length=20)),
            ("at", models.DateTimeField(auto_now_add=True)),
            ("solved_at", models.DateTimeField(blank=True, null=True)),
            ("answer", models.CharField(blank=True, max_length=200)),
            (
                "by",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "card",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="problems",
                    to="production.jobcard",
                ),
            ),
            (
                "solved_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
        ],
        options={
            "ordering": ["-at", "-id"],
            "permissions": [("solve_problem", "May settle problems that the floor reports")],
        },
    ),
    migrations.CreateModel(
        name="WorksOperation",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("sequence", models.PositiveSmallIntegerField()),
            ("minutes", models.DecimalField(decimal_places=2, max_digits=10)),
            (
                "state",
                models.CharField(
                    choices=[
                        ("waiting", "waiting"),
                        ("begun", "begun"),
                        ("done", "done"),
                        ("cancelled", "cancelled"),
                    ],
                    default="waiting",
                    max_length=10,
                ),
            ),
            ("began_at", models.DateTimeField(blank=True, null=True)),
            ("finished_at", models.DateTimeField(blank=True, null=True)),
            ("problem", models.CharField(blank=True, max_length=200)),
            (
                "by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "posting",
                models.OneToOneField(
                    blank=True,
                    help_text="What finishing it posted; none while it is unfinished or where nothing is posted.",
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="works_operation",
                    to="inventory.posting",
                ),
            ),
            (
                "process",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="works_operations",
                    to="bom.process",
                ),
            ),
        ],
        options={
            "ordering": ["works_order", "sequence"],
            "permissions": [("report_work", "May start, stop and finish work at a station")],
        },
    ),
    migrations.CreateModel(
        name="PlannedOperation",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("starts_at", models.DateTimeField()),
            ("ends_at", models.DateTimeField()),
            ("minutes", models.DecimalField(decimal_places=1, max_digits=10)),
            (
                "is_fixed",
                models.BooleanField(default=False, help_text="Already begun; the plan did not move it."),
            ),
            (
                "batch",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="planned",
                    to="production.cutbatch",
                ),
            ),
            (
                "order",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="planned_operations",
                    to="production.order",
                ),
            ),
            (
                "plan",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="operations",
                    to="production.plan",
                ),
            ),
            (
                "work_centre",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="planned_operations",
                    to="production.workcentre",
                ),
            ),
            (
                "operation",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="planned",
                    to="production.worksoperation",
                ),
            ),
        ],
        options={
            "ordering": ["plan", "starts_at", "id"],
        },
    ),
    migrations.CreateModel(
        name="CardLine",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("pieces", models.DecimalField(decimal_places=4, max_digits=12)),
            ("good", models.DecimalField(decimal_places=4, default=Decimal("0"), max_digits=12)),
            ("to_mend", models.DecimalField(decimal_places=4, default=Decimal("0"), max_digits=12)),
            ("spoilt", models.DecimalField(decimal_places=4, default=Decimal("0"), max_digits=12)),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="+", to="bom.item"
                ),
            ),
            (
                "card",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="lines",
                    to="production.jobcard",
                ),
            ),
            (
                "operation",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="card_lines",
                    to="production.worksoperation",
                ),
            ),
        ],
        options={
            "ordering": ["card", "id"],
        },
    ),
    migrations.CreateModel(
        name="WorksOrder",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("number", models.CharField(max_length=20, unique=True)),
            ("quantity", models.DecimalField(decimal_places=4, default=Decimal("1"), max_digits=12)),
            (
                "state",
                models.CharField(
                    choices=[
                        ("confirmed", "confirmed"),
                        ("released", "released"),
                        ("begun", "begun"),
                        ("done", "done"),
                        ("cancelled", "cancelled"),
                    ],
                    default="confirmed",
                    max_length=10,
                ),
            ),
            ("made_at", models.DateTimeField(auto_now_add=True)),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="works_orders",
                    to="bom.item",
                ),
            ),
            (
                "order",
                models.OneToOneField(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="works_order",
                    to="production.order",
                ),
            ),
        ],
        options={
            "ordering": ["number"],
        },
    ),
    migrations.AddField(
        model_name="worksoperation",
        name="works_order",
        field=models.ForeignKey(
            on_delete=django.db.models.deletion.CASCADE,
            related_name="operations",
            to="production.worksorder",
        ),
    ),
    migrations.CreateModel(
        name="WorkTime",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("started_at", models.DateTimeField()),
            ("stopped_at", models.DateTimeField(blank=True, null=True)),
            (
                "ended",
                models.CharField(
                    blank=True,
                    choices=[
                        ("", "running"),
                        ("done", "done"),
                        ("stopped", "stopped"),
                        ("other", "went on to another card"),
                        ("problem", "stopped by a problem"),
                    ],
                    default="",
                    max_length=8,
                ),
            ),
            ("minutes", models.DecimalField(decimal_places=2, default=Decimal("0"), max_digits=8)),
            (
                "card",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="times",
                    to="production.jobcard",
                ),
            ),
            (
                "person",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="work_times",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "work_centre",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="work_times",
                    to="production.workcentre",
                ),
            ),
        ],
        options={
            "ordering": ["-started_at", "-id"],
        },
    ),
    migrations.CreateModel(
        name="BarLength",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "length_mm",
                models.DecimalField(
                    decimal_places=1,
                    max_digits=8,
                    validators=[django.core.validators.MinValueValidator(100)],
                ),
            ),
            ("price", models.DecimalField(blank=True, decimal_places=2, max_digits=10, null=True)),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE, related_name="bar_lengths", to="bom.item"
                ),
            ),
        ],
        options={
            "ordering": ["item", "length_mm"],
            "constraints": [
                models.UniqueConstraint(
                    fields=("item", "length_mm"),
                    name="bar_length_once_a_section",
                    violation_error_message="This length of the section is there already.",
                )
            ],
        },
    ),
    migrations.CreateModel(
        name="CalendarDay",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("date", models.DateField()),
            ("is_open", models.BooleanField(default=False)),
            ("starts", models.TimeField(blank=True, null=True)),
            ("ends", models.TimeField(blank=True, null=True)),
            ("reason", models.CharField(max_length=80)),
            (
                "calendar",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="days",
                    to="production.calendar",
                ),
            ),
        ],
        options={
            "ordering": ["calendar", "date"],
            "constraints": [models.UniqueConstraint(fields=("calendar", "date"), name="calendar_day_once")],
        },
    ),
    migrations.CreateModel(
        name="CalendarShift",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "weekday",
                models.PositiveSmallIntegerField(
                    choices=[
                        (0, "Monday"),
                        (1, "Tuesday"),
                        (2, "Wednesday"),
                        (3, "Thursday"),
                        (4, "Friday"),
                        (5, "Saturday"),
                        (6, "Sunday"),
                    ]
                ),
            ),
            ("starts", models.TimeField()),
            ("ends", models.TimeField()),
            (
                "calendar",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="shifts",
                    to="production.calendar",
                ),
            ),
        ],
        options={
            "ordering": ["calendar", "weekday", "starts"],
            "constraints": [
                models.CheckConstraint(
                    condition=models.Q(("starts__lt", models.F("ends"))),
                    name="shift_starts_before_it_ends",
                    violation_error_message="A shift must start before it ends.",
                )
            ],
        },
    ),
    migrations.AddConstraint(
        model_name="checkline",
        constraint=models.CheckConstraint(
            condition=models.Q(
                ("low__isnull", True),
                ("high__isnull", True),
                ("low__lte", models.F("high")),
                _connector="OR",
            ),
            name="check_line_low_below_high",
            violation_error_message="The lower limit cannot be above the upper one.",
        ),
    ),
    migrations.AddConstraint(
        model_name="checkline",
        constraint=models.CheckConstraint(
            condition=models.Q(
                models.Q(("unit", ""), _negated=True),
                models.Q(("high__isnull", True), ("low__isnull", True)),
                _connector="OR",
            ),
            name="check_line_limits_have_unit",
            violation_error_message="Limits need a unit.",
        ),
    ),
    migrations.AddConstraint(
        model_name="cutsheet",
        constraint=models.UniqueConstraint(fields=("batch", "number"), name="cut_sheet_number_once"),
    ),
    migrations.AddConstraint(
        model_name="cutstretch",
        constraint=models.UniqueConstraint(
            condition=models.Q(("ended_at__isnull", True)),
            fields=("sheet",),
            name="cut_sheet_worked_on_once_at_a_time",
        ),
    ),
    migrations.AddConstraint(
        model_name="digest",
        constraint=models.UniqueConstraint(fields=("person", "day"), name="digest_once_a_day"),
    ),
    migrations.AddConstraint(
        model_name="digestwish",
        constraint=models.CheckConstraint(
            condition=models.Q(
                models.Q(("person__isnull", True), ("role__isnull", False)),
                models.Q(("person__isnull", False), ("role__isnull", True)),
                _connector="OR",
            ),
            name="wish_of_a_person_or_a_role",
        ),
    ),
    migrations.AddConstraint(
        model_name="fastener",
        constraint=models.CheckConstraint(
            condition=models.Q(
                models.Q(("high_nm__isnull", True), ("low_nm__isnull", True)),
                ("low_nm__lte", models.F("high_nm")),
                _connector="OR",
            ),
            name="fastener_torques_in_order",
            violation_error_message="Give both torques, the lower one first, or none.",
        ),
    ),
    migrations.AddConstraint(
        model_name="frozenline",
        constraint=models.UniqueConstraint(
            fields=("bill", "parent", "item", "position"), name="frozen_line_once"
        ),
    ),
    migrations.AddConstraint(
        model_name="frozentotal",
        constraint=models.UniqueConstraint(fields=("bill", "item"), name="frozen_total_once"),
    ),
    migrations.AddConstraint(
        model_name="certificate",
        constraint=models.UniqueConstraint(
            condition=models.Q(("withdrawn_at__isnull", True)),
            fields=("load", "number"),
            name="certificate_once_a_load",
            violation_error_message="This certificate is filed with the load already.",
        ),
    ),
    migrations.AddConstraint(
        model_name="jig",
        constraint=models.CheckConstraint(
            condition=models.Q(("units__gte", 1)),
            name="jig_has_a_unit",
            violation_error_message="There must be at least one of a jig.",
        ),
    ),
    migrations.AddConstraint(
        model_name="jigrepair",
        constraint=models.CheckConstraint(
            condition=models.Q(("starts_at__lt", models.F("ends_at"))),
            name="jig_repair_starts_before_it_ends",
            violation_error_message="A repair must start before it ends.",
        ),
    ),
    migrations.AddConstraint(
        model_name="jigsheet",
        constraint=models.UniqueConstraint(
            fields=("item", "process", "number"), name="jig_sheet_number_once"
        ),
    ),
    migrations.AddConstraint(
        model_name="jignote",
        constraint=models.UniqueConstraint(fields=("sheet", "position"), name="jig_note_position_once"),
    ),
    migrations.AddIndex(
        model_name="jobcard",
        index=models.Index(fields=["process", "state"], name="card_process_state"),
    ),
    migrations.AddConstraint(
        model_name="kitline",
        constraint=models.UniqueConstraint(fields=("kit", "item"), name="kit_line_once"),
    ),
    migrations.AddConstraint(
        model_name="kitline",
        constraint=models.CheckConstraint(
            condition=models.Q(("picked__gte", 0), ("picked__lte", models.F("wanted"))),
            name="kit_picked_within_wanted",
            violation_error_message="No more can be picked than the kit wants.",
        ),
    ),
    migrations.AddConstraint(
        model_name="laidpart",
        constraint=models.UniqueConstraint(fields=("batch", "part"), name="laid_part_once_a_batch"),
    ),
    migrations.AddConstraint(
        model_name="deliveryrun",
        constraint=models.UniqueConstraint(
            condition=models.Q(("state", "cancelled"), _negated=True),
            fields=("lorry", "day"),
            name="one_run_a_lorry_and_day",
            violation_error_message="This lorry has a run on that day.",
        ),
    ),
    migrations.AddConstraint(
        model_name="numberrule",
        constraint=models.CheckConstraint(
            condition=models.Q(
                models.Q(("form", "mask"), models.Q(("mask", ""), _negated=True)),
                models.Q(models.Q(("form", "mask"), _negated=True), ("mask", "")),
                _connector="OR",
            ),
            name="number_rule_mask_with_form",
            violation_error_message="Give a pattern if, and only if, the number looks as a pattern shows.",
        ),
    ),
    migrations.AddIndex(
        model_name="order",
        index=models.Index(fields=["state", "asked_for"], name="order_state_asked"),
    ),
    migrations.AddIndex(
        model_name="order",
        index=models.Index(fields=["state", "promised_on"], name="order_state_promised"),
    ),
    migrations.AddConstraint(
        model_name="order",
        constraint=models.CheckConstraint(
            condition=models.Q(
                ("state__in", ["draft", "cancelled"]),
                models.Q(("bill__isnull", False), ("purpose__isnull", False)),
                _connector="OR",
            ),
            name="order_confirmed_has_bill",
            violation_error_message="A confirmed order must have its frozen bill.",
        ),
    ),
    migrations.AddConstraint(
        model_name="notread",
        constraint=models.UniqueConstraint(fields=("order", "item"), name="not_read_once_an_item"),
    ),
    migrations.AddConstraint(
        model_name="loadline",
        constraint=models.UniqueConstraint(fields=("load", "order", "item"), name="load_line_once"),
    ),
    migrations.AddConstraint(
        model_name="loadline",
        constraint=models.CheckConstraint(
            condition=models.Q(
                ("came_back__isnull", True),
                models.Q(("came_back__gte", 0), ("came_back__lte", models.F("quantity"))),
                _connector="OR",
            ),
            name="load_line_back_within_sent",
            violation_error_message="No more can come back than was sent.",
        ),
    ),
    migrations.AddConstraint(
        model_name="loadline",
        constraint=models.CheckConstraint(
            condition=models.Q(
                ("damaged", 0),
                models.Q(
                    ("damaged__gt", 0),
                    ("damaged__lte", models.F("came_back")),
                    models.Q(("damage", ""), _negated=True),
                ),
                _connector="OR",
            ),
            name="load_line_damage_within_back",
            violation_error_message="No more can be damaged than came back, and it is said what is wrong.",
        ),
    ),
    migrations.AddConstraint(
        model_name="inspection",
        constraint=models.CheckConstraint(
            condition=models.Q(
                models.Q(("signed_at__isnull", True), ("signed_by__isnull", True)),
                models.Q(("signed_at__isnull", False), ("signed_by__isnull", False)),
                _connector="OR",
            ),
            name="inspection_signed_by_and_at",
        ),
    ),
    migrations.AddIndex(
        model_name="fittednumber",
        index=models.Index(fields=["order", "item"], name="fitted_order_item"),
    ),
    migrations.AddConstraint(
        model_name="fittednumber",
        constraint=models.UniqueConstraint(
            condition=models.Q(("is_shared", False), ("taken_back_at__isnull", True)),
            fields=("item", "code"),
            name="fitted_number_on_one_trailer",
            violation_error_message="This number is on a trailer already.",
        ),
    ),
    migrations.AddConstraint(
        model_name="delivery",
        constraint=models.CheckConstraint(
            condition=models.Q(
                models.Q(("received_by", ""), ("received_at__isnull", True)),
                models.Q(models.Q(("received_by", ""), _negated=True), ("received_at__isnull", False)),
                _connector="OR",
            ),
            name="delivery_received_by_and_at",
        ),
    ),
    migrations.AddConstraint(
        model_name="costsnapshot",
        constraint=models.CheckConstraint(
            condition=models.Q(
                models.Q(("bill__isnull", False), ("model__isnull", True), ("order__isnull", False)),
                models.Q(("model__isnull", False), ("order__isnull", True)),
                _connector="OR",
            ),
            name="cost_snapshot_of_an_order_or_a_model",
        ),
    ),
    migrations.AddIndex(
        model_name="alert",
        index=models.Index(fields=["gone_at", "kind", "needed_on"], name="alert_open"),
    ),
    migrations.AddConstraint(
        model_name="alert",
        constraint=models.CheckConstraint(
            condition=models.Q(
                models.Q(("kind", "shelf"), ("order__isnull", True)),
                models.Q(("kind", "shortage"), ("order__isnull", False)),
                _connector="OR",
            ),
            name="alert_of_a_shelf_or_an_order",
        ),
    ),
    migrations.AddConstraint(
        model_name="alert",
        constraint=models.UniqueConstraint(
            condition=models.Q(("gone_at__isnull", True), ("kind", "shelf")),
            fields=("item",),
            name="alert_shelf_open_once",
        ),
    ),
    migrations.AddConstraint(
        model_name="alert",
        constraint=models.UniqueConstraint(
            condition=models.Q(("gone_at__isnull", True), ("kind", "shortage")),
            fields=("order", "item"),
            name="alert_shortage_open_once",
        ),
    ),
    migrations.AddConstraint(
        model_name="orderchoice",
        constraint=models.UniqueConstraint(fields=("order", "choice"), name="choice_once_an_order"),
    ),
    migrations.AddConstraint(
        model_name="ordercolour",
        constraint=models.UniqueConstraint(fields=("order", "place"), name="place_once_an_order"),
    ),
    migrations.AddConstraint(
        model_name="orderversion",
        constraint=models.UniqueConstraint(fields=("order", "number"), name="order_version_number_once"),
    ),
    migrations.AddConstraint(
        model_name="orderversionchoice",
        constraint=models.UniqueConstraint(fields=("version", "choice"), name="choice_once_a_version"),
    ),
    migrations.AddConstraint(
        model_name="orderversioncolour",
        constraint=models.UniqueConstraint(fields=("version", "place"), name="place_once_a_version"),
    ),
    migrations.AddConstraint(
        model_name="paper",
        constraint=models.UniqueConstraint(fields=("run", "order", "kind"), name="paper_once_a_run"),
    ),
    migrations.AddConstraint(
        model_name="paperwanted",
        constraint=models.UniqueConstraint(fields=("run", "order"), name="paper_wanted_once"),
    ),
    migrations.AddConstraint(
        model_name="placedistance",
        constraint=models.UniqueConstraint(fields=("near", "far"), name="distance_once_a_pair"),
    ),
    migrations.AddConstraint(
        model_name="placedistance",
        constraint=models.CheckConstraint(
            condition=models.Q(("near__lt", models.F("far"))), name="distance_lower_place_first"
        ),
    ),
    migrations.AddConstraint(
        model_name="placedistance",
        constraint=models.CheckConstraint(
            condition=models.Q(("km__gt", 0)),
            name="distance_above_zero",
            violation_error_message="Two places cannot be nowhere from each other.",
        ),
    ),
    migrations.AddConstraint(
        model_name="plan",
        constraint=models.UniqueConstraint(
            condition=models.Q(("is_current", True)),
            fields=("is_current",),
            name="plan_one_current",
            violation_error_message="Another plan is the released one.",
        ),
    ),
    migrations.AddIndex(
        model_name="orderforecast",
        index=models.Index(fields=["plan", "days_late"], name="forecast_plan_late"),
    ),
    migrations.AddConstraint(
        model_name="orderforecast",
        constraint=models.UniqueConstraint(fields=("plan", "order"), name="forecast_once_a_plan"),
    ),
    migrations.AddIndex(
        model_name="galvanisingload",
        index=models.Index(fields=["state", "leaves_at"], name="load_state_leaves"),
    ),
    migrations.AddConstraint(
        model_name="delaycause",
        constraint=models.UniqueConstraint(fields=("plan", "order", "sequence"), name="cause_sequence_once"),
    ),
    migrations.AddIndex(
        model_name="cutbatch",
        index=models.Index(fields=["state", "starts_at"], name="cut_batch_state"),
    ),
    migrations.AddConstraint(
        model_name="bookneed",
        constraint=models.UniqueConstraint(fields=("plan", "item"), name="book_need_item_once"),
    ),
    migrations.AddIndex(
        model_name="barbatch",
        index=models.Index(fields=["state", "starts_at"], name="bar_batch_state"),
    ),
    migrations.AddConstraint(
        model_name="plannote",
        constraint=models.UniqueConstraint(fields=("plan", "sequence"), name="plan_note_sequence_once"),
    ),
    migrations.AddIndex(
        model_name="powderbatch",
        index=models.Index(fields=["state", "starts_at"], name="powder_state_starts"),
    ),
    migrations.AddConstraint(
        model_name="powderline",
        constraint=models.UniqueConstraint(fields=("batch", "order"), name="powder_line_once"),
    ),
    migrations.AddConstraint(
        model_name="powderline",
        constraint=models.CheckConstraint(
            condition=models.Q(
                models.Q(("outcome__in", ["again", "accepted"]), _negated=True),
                models.Q(("reason", ""), _negated=True),
                _connector="OR",
            ),
            name="powder_line_says_why",
            violation_error_message="Say why it is coated again, or accepted as it is.",
        ),
    ),
    migrations.AddConstraint(
        model_name="powderstep",
        constraint=models.UniqueConstraint(fields=("batch", "step"), name="powder_step_once_a_batch"),
    ),
    migrations.AddConstraint(
        model_name="powderstep",
        constraint=models.CheckConstraint(
            condition=models.Q(
                ("ended_at__isnull", True), ("ended_at__gte", models.F("began_at")), _connector="OR"
            ),
            name="powder_step_ends_after_it_begins",
        ),
    ),
    migrations.AddConstraint(
        model_name="promisepoint",
        constraint=models.UniqueConstraint(fields=("run", "on"), name="promise_point_once_a_day"),
    ),
    migrations.AddConstraint(
        model_name="ratingrecord",
        constraint=models.UniqueConstraint(fields=("order", "number"), name="rating_number_once_an_order"),
    ),
    migrations.AddConstraint(
        model_name="ratingresult",
        constraint=models.UniqueConstraint(fields=("rating", "sequence"), name="result_once_a_rating"),
    ),
    migrations.AddConstraint(
        model_name="recalltrailer",
        constraint=models.UniqueConstraint(fields=("recall", "order"), name="trailer_once_a_recall"),
    ),
    migrations.AddConstraint(
        model_name="sawbar",
        constraint=models.UniqueConstraint(fields=("batch", "number"), name="saw_bar_number_once"),
    ),
    migrations.AddConstraint(
        model_name="sawcut",
        constraint=models.UniqueConstraint(fields=("bar", "sequence"), name="saw_cut_sequence_once"),
    ),
    migrations.AddConstraint(
        model_name="serialplate",
        constraint=models.UniqueConstraint(fields=("mark", "number"), name="plate_number_once_a_maker"),
    ),
    migrations.AddConstraint(
        model_name="serialplate",
        constraint=models.UniqueConstraint(
            condition=models.Q(("instead_of__isnull", True)),
            fields=("order",),
            name="first_plate_once_an_order",
        ),
    ),
    migrations.AddConstraint(
        model_name="silence",
        constraint=models.UniqueConstraint(
            condition=models.Q(("ended_at__isnull", True)), fields=("alert",), name="alert_silenced_once"
        ),
    ),
    migrations.AddConstraint(
        model_name="silence",
        constraint=models.CheckConstraint(
            condition=models.Q(("reason", ""), _negated=True), name="silence_has_a_reason"
        ),
    ),
    migrations.AddConstraint(
        model_name="source",
        constraint=models.UniqueConstraint(
            models.F("kind"),
            models.F("code"),
            django.db.models.functions.comparison.Coalesce("item", 0),
            name="source_once_a_kind_and_item",
        ),
    ),
    migrations.AddConstraint(
        model_name="origin",
        constraint=models.UniqueConstraint(fields=("source", "made_from"), name="origin_once"),
    ),
    migrations.AddConstraint(
        model_name="origin",
        constraint=models.CheckConstraint(
            condition=models.Q(("source", models.F("made_from")), _negated=True), name="origin_is_another"
        ),
    ),
    migrations.AddConstraint(
        model_name="claim",
        constraint=models.CheckConstraint(
            condition=models.Q(("cost__gte", 0)), name="claim_cost_not_negative"
        ),
    ),
    migrations.AddIndex(
        model_name="builtrow",
        index=models.Index(fields=["source", "order"], name="built_source_order"),
    ),
    migrations.AddIndex(
        model_name="builtrow",
        index=models.Index(fields=["item", "order"], name="built_item_order"),
    ),
    migrations.AddIndex(
        model_name="suggestion",
        index=models.Index(fields=["plan", "kind", "begin_on"], name="suggestion_plan_kind"),
    ),
    migrations.AddConstraint(
        model_name="suggestion",
        constraint=models.UniqueConstraint(fields=("plan", "number"), name="suggestion_number_once"),
    ),
    migrations.AddIndex(
        model_name="shortage",
        index=models.Index(fields=["plan", "order"], name="shortage_plan_order"),
    ),
    migrations.AddIndex(
        model_name="shortage",
        index=models.Index(fields=["plan", "item"], name="shortage_plan_item"),
    ),
    migrations.AddIndex(
        model_name="peg",
        index=models.Index(fields=["plan", "order"], name="peg_plan_order"),
    ),
    migrations.AddIndex(
        model_name="peg",
        index=models.Index(fields=["plan", "item", "needed_on"], name="peg_plan_item"),
    ),
    migrations.AddConstraint(
        model_name="alertact",
        constraint=models.UniqueConstraint(fields=("alert", "rank"), name="alert_act_rank_once"),
    ),
    migrations.AddIndex(
        model_name="supplychange",
        index=models.Index(fields=["plan", "-late_days", "-money"], name="supply_change_urgency"),
    ),
    migrations.AddConstraint(
        model_name="swap",
        constraint=models.CheckConstraint(condition=models.Q(("quantity__gt", 0)), name="swap_above_zero"),
    ),
    migrations.AddConstraint(
        model_name="swap",
        constraint=models.CheckConstraint(
            condition=models.Q(("item", models.F("instead")), _negated=True), name="swap_is_another"
        ),
    ),
    migrations.AddConstraint(
        model_name="thicknessreading",
        constraint=models.CheckConstraint(
            condition=models.Q(("zinc_um__gte", 0), ("total_um__gte", models.F("zinc_um"))),
            name="thickness_total_above_zinc",
            violation_error_message="Zinc and powder together are no thinner than the zinc alone.",
        ),
    ),
    migrations.AddConstraint(
        model_name="thicknessrule",
        constraint=models.CheckConstraint(
            condition=models.Q(("least_um__lte", models.F("most_um"))),
            name="thickness_least_below_most",
            violation_error_message="The least thickness cannot be above the greatest.",
        ),
    ),
    migrations.AddConstraint(
        model_name="timecorrection",
        constraint=models.CheckConstraint(
            condition=models.Q(("factor__gt", 0), ("factor__lte", 10)),
            name="time_correction_makes_sense",
            violation_error_message="A correction is above 0 and at most 10.",
        ),
    ),
    migrations.AddConstraint(
        model_name="weldinspection",
        constraint=models.CheckConstraint(
            condition=models.Q(("is_good", True), models.Q(("words", ""), _negated=True), _connector="OR"),
            name="weld_fault_is_described",
            violation_error_message="Say what is wrong with the weld.",
        ),
    ),
    migrations.AddConstraint(
        model_name="weldinspection",
        constraint=models.CheckConstraint(
            condition=models.Q(
                models.Q(("clearance", ""), ("cleared_at__isnull", True), ("cleared_by__isnull", True)),
                models.Q(
                    ("cleared_at__isnull", False),
                    ("cleared_by__isnull", False),
                    models.Q(("clearance", ""), _negated=True),
                ),
                _connector="OR",
            ),
            name="weld_cleared_by_at_and_why",
        ),
    ),
    migrations.AddConstraint(
        model_name="windowoption",
        constraint=models.UniqueConstraint(fields=("trial", "days"), name="window_once_a_trial"),
    ),
    migrations.AddConstraint(
        model_name="planchange",
        constraint=models.UniqueConstraint(
            fields=("plan", "in_plan", "sequence"), name="plan_change_sequence_once"
        ),
    ),
    migrations.AddConstraint(
        model_name="planchange",
        constraint=models.CheckConstraint(
            condition=models.Q(
                models.Q(("begins_at__isnull", False), ("kind", "move")),
                models.Q(
                    ("date__isnull", False),
                    ("kind", "hours"),
                    ("starts__isnull", False),
                    ("work_centre__isnull", False),
                ),
                models.Q(("date__isnull", False), ("kind", "run")),
                _connector="OR",
            ),
            name="plan_change_is_whole",
        ),
    ),
    migrations.AddConstraint(
        model_name="extrahours",
        constraint=models.UniqueConstraint(
            fields=("work_centre", "date", "kind"), name="extra_hours_once_a_day"
        ),
    ),
    migrations.AddConstraint(
        model_name="extrahours",
        constraint=models.CheckConstraint(
            condition=models.Q(("starts__lt", models.F("ends"))),
            name="extra_hours_start_before_they_end",
            violation_error_message="Extra hours must start before they end.",
        ),
    ),
    migrations.AddConstraint(
        model_name="downtime",
        constraint=models.CheckConstraint(
            condition=models.Q(("starts_at__lt", models.F("ends_at"))),
            name="downtime_starts_before_it_ends",
            violation_error_message="A downtime must start before it ends.",
        ),
    ),
    migrations.AddConstraint(
        model_name="dayload",
        constraint=models.UniqueConstraint(fields=("plan", "work_centre", "date"), name="day_load_once"),
    ),
    migrations.AddConstraint(
        model_name="clampzone",
        constraint=models.CheckConstraint(
            condition=models.Q(("length_mm__gt", 0), ("width_mm__gt", 0)),
            name="clamp_zone_has_a_size",
            violation_error_message="Length and width of a clamp must be above 0 mm.",
        ),
    ),
    migrations.AddConstraint(
        model_name="workcentrerate",
        constraint=models.UniqueConstraint(fields=("work_centre", "from_day"), name="rate_once_a_day"),
    ),
    migrations.AddConstraint(
        model_name="workcentrerate",
        constraint=models.CheckConstraint(
            condition=models.Q(("labour_per_hour__gte", 0), ("overhead_per_hour__gte", 0)),
            name="rate_not_negative",
            violation_error_message="An hour cannot cost less than nothing.",
        ),
    ),
    migrations.AddConstraint(
        model_name="absence",
        constraint=models.CheckConstraint(
            condition=models.Q(("starts_at__lt", models.F("ends_at"))),
            name="absence_starts_before_it_ends",
            violation_error_message="An absence must start before it ends.",
        ),
    ),
    migrations.AddIndex(
        model_name="plannedoperation",
        index=models.Index(fields=["plan", "work_centre", "starts_at"], name="planned_centre_start"),
    ),
    migrations.AddIndex(
        model_name="plannedoperation",
        index=models.Index(fields=["plan", "order"], name="planned_plan_order"),
    ),
    migrations.AddConstraint(
        model_name="cardline",
        constraint=models.UniqueConstraint(fields=("card", "operation", "item"), name="card_line_once"),
    ),
    migrations.AddConstraint(
        model_name="cardline",
        constraint=models.CheckConstraint(
            condition=models.Q(("pieces__gt", 0)), name="card_pieces_above_zero"
        ),
    ),
    migrations.AddConstraint(
        model_name="cardline",
        constraint=models.CheckConstraint(
            condition=models.Q(
                ("good__gte", 0),
                ("spoilt__gte", 0),
                ("to_mend__gte", 0),
                (
                    "good__lte",
                    django.db.models.expressions.CombinedExpression(
                        django.db.models.expressions.CombinedExpression(
                            models.F("pieces"), "-", models.F("to_mend")
                        ),
                        "-",
                        models.F("spoilt"),
                    ),
                ),
            ),
            name="card_counts_within_pieces",
            violation_error_message="Good, to mend and spoilt together are at most the pieces on the card.",
        ),
    ),
    migrations.AddConstraint(
        model_name="worksorder",
        constraint=models.CheckConstraint(
            condition=models.Q(("quantity__gt", 0)), name="works_quantity_above_zero"
        ),
    ),
    migrations.AddIndex(
        model_name="worksoperation",
        index=models.Index(fields=["process", "state"], name="works_process_state"),
    ),
    migrations.AddConstraint(
        model_name="worksoperation",
        constraint=models.UniqueConstraint(fields=("works_order", "sequence"), name="works_sequence_once"),
    ),
    migrations.AddConstraint(
        model_name="worksoperation",
        constraint=models.CheckConstraint(
            condition=models.Q(("minutes__gte", 0)), name="works_minutes_not_negative"
        ),
    ),
    migrations.AddConstraint(
        model_name="worktime",
        constraint=models.UniqueConstraint(
            condition=models.Q(("stopped_at__isnull", True)),
            fields=("person",),
            name="one_running_time_a_person",
        ),
    ),
    migrations.AddConstraint(
        model_name="worktime",
        constraint=models.CheckConstraint(
            condition=models.Q(
                ("stopped_at__isnull", True), ("stopped_at__gte", models.F("started_at")), _connector="OR"
            ),
            name="work_time_stops_after_it_starts",
        ),
    ),
]


class Migration(migrations.Migration):
    initial = True

    dependencies = [
        ("auth", "0012_alter_user_first_name_max_length"),
        ("bom", "0001_first"),
        ("inventory", "0001_first"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        FirstTables(TABLES),
        migrations.RunPython(*keep(KEPT)),
        migrations.RunPython(add_sealed, drop_sealed),
    ]
