"""All tables at once: a new workshop is made without walking through the history of its tables."""

import django.db.models.deletion
import django.db.models.functions.comparison
import django.utils.timezone
from decimal import Decimal
from django.conf import settings
from django.db import migrations, models

from bom.kernel.first_tables import FirstTables

from inventory.stock.triggers import add_triggers, drop_triggers


TABLES = [
    migrations.CreateModel(
        name="CostPoint",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("until", models.DateTimeField(unique=True)),
            ("last_posting", models.BigIntegerField()),
            ("last_stated", models.BigIntegerField()),
            ("last_share", models.BigIntegerField()),
        ],
        options={
            "ordering": ["-until"],
        },
    ),
    migrations.CreateModel(
        name="Location",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("code", models.CharField(max_length=20, unique=True)),
            ("name", models.CharField(max_length=80)),
            (
                "kind",
                models.CharField(
                    choices=[
                        ("supplier", "supplier"),
                        ("shelf", "shelf"),
                        ("work", "work in progress"),
                        ("outside", "away for outside work"),
                        ("conversion", "made into something else"),
                        ("scrap", "scrap"),
                        ("customer", "customer"),
                        ("count", "count difference"),
                        ("hold", "on hold"),
                    ],
                    max_length=12,
                ),
            ),
            (
                "floor",
                models.DecimalField(
                    blank=True, decimal_places=4, default=Decimal("0"), max_digits=16, null=True
                ),
            ),
            (
                "walk_order",
                models.PositiveIntegerField(default=0, help_text="Order in which a picker walks past it."),
            ),
            (
                "is_goods_in",
                models.BooleanField(
                    default=False,
                    help_text="Goods are set down here when they come, until they are put away. They may be picked from it.",
                ),
            ),
        ],
        options={
            "ordering": ["walk_order", "code"],
        },
    ),
    migrations.CreateModel(
        name="OutsideLine",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("position", models.PositiveSmallIntegerField()),
            (
                "reference",
                models.CharField(help_text="Number of the load or of our delivery note.", max_length=40),
            ),
            ("mass_kg", models.DecimalField(decimal_places=2, max_digits=10)),
            ("price_per_kg", models.DecimalField(decimal_places=4, max_digits=10)),
            ("minimum_kg", models.DecimalField(decimal_places=2, max_digits=10)),
            ("value", models.DecimalField(decimal_places=2, max_digits=12)),
            ("wanted_on", models.DateField(help_text="The day it was to be back when it left.")),
            ("due_on", models.DateField(help_text="The day it is expected back now.")),
            (
                "confirmed_on",
                models.DateField(blank=True, help_text="The day the supplier named last.", null=True),
            ),
            (
                "came_at",
                models.DateTimeField(blank=True, help_text="When the first of it was back.", null=True),
            ),
            (
                "complete_at",
                models.DateTimeField(blank=True, help_text="When all of it was back.", null=True),
            ),
            ("is_closed", models.BooleanField(default=False)),
            (
                "is_counted_at_station",
                models.BooleanField(
                    default=False,
                    help_text="A station counts it back, with its orders; buying only watches.",
                ),
            ),
        ],
        options={
            "ordering": ["order", "position"],
            "permissions": [
                ("send_outside", "May send goods out for work and count them back"),
                ("claim_outside", "May claim what a supplier lost or spoilt, and settle a claim"),
            ],
        },
    ),
    migrations.CreateModel(
        name="Purpose",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("code", models.CharField(max_length=30, unique=True)),
            ("label", models.CharField(blank=True, max_length=120)),
            ("needed_on", models.DateField(blank=True, null=True)),
            ("is_open", models.BooleanField(default=True)),
        ],
        options={
            "ordering": ["code"],
        },
    ),
    migrations.CreateModel(
        name="BuyingRules",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "over_percent",
                models.DecimalField(
                    decimal_places=2,
                    default=Decimal("10"),
                    help_text="How much more than ordered is taken without asking, percent of the line (common practice).",
                    max_digits=5,
                ),
            ),
        ],
        options={
            "verbose_name_plural": "buying rules",
            "constraints": [
                models.CheckConstraint(condition=models.Q(("pk", 1)), name="buying_rules_once"),
                models.CheckConstraint(
                    condition=models.Q(("over_percent__gte", 0)),
                    name="buying_rules_over_not_negative",
                    violation_error_message="Write zero or more percent.",
                ),
            ],
        },
    ),
    migrations.CreateModel(
        name="Charge",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("key", models.CharField(max_length=120, unique=True)),
            (
                "kind",
                models.CharField(
                    choices=[("freight", "freight"), ("duty", "duty"), ("other", "other charge")],
                    max_length=8,
                ),
            ),
            ("amount", models.DecimalField(decimal_places=2, max_digits=12)),
            (
                "shared_by",
                models.CharField(
                    choices=[("value", "value"), ("mass", "mass"), ("quantity", "quantity")], max_length=8
                ),
            ),
            ("paper", models.CharField(help_text="Number of the bill or customs entry.", max_length=80)),
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
            "ordering": ["-id"],
        },
    ),
    migrations.CreateModel(
        name="CostMethod",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "method",
                models.CharField(
                    choices=[("average", "moving average"), ("fifo", "first in, first out")], max_length=8
                ),
            ),
            (
                "item",
                models.OneToOneField(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="cost_method",
                    to="bom.item",
                ),
            ),
        ],
        options={
            "permissions": [("value_stock", "May say what stock cost and how it is valued")],
        },
    ),
    migrations.CreateModel(
        name="CountClass",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("code", models.CharField(max_length=2, unique=True)),
            (
                "share_to",
                models.DecimalField(
                    decimal_places=2,
                    help_text="Percent of the yearly value used, reached with this class.",
                    max_digits=5,
                ),
            ),
            (
                "days_between",
                models.PositiveSmallIntegerField(help_text="Calendar days from one count to the next."),
            ),
            (
                "recount_percent",
                models.DecimalField(
                    decimal_places=2,
                    help_text="A count further out than this is asked for again.",
                    max_digits=5,
                ),
            ),
            (
                "recount_value",
                models.DecimalField(
                    decimal_places=2,
                    help_text="… and so is a difference worth more than this.",
                    max_digits=10,
                ),
            ),
        ],
        options={
            "ordering": ["code"],
            "constraints": [
                models.CheckConstraint(
                    condition=models.Q(("share_to__gt", 0), ("share_to__lte", 100)),
                    name="count_class_share_of_100",
                    violation_error_message="A share lies above 0 and at most at 100 percent.",
                ),
                models.CheckConstraint(
                    condition=models.Q(
                        ("days_between__gt", 0), ("recount_percent__gte", 0), ("recount_value__gte", 0)
                    ),
                    name="count_class_figures",
                    violation_error_message="Days are above zero, limits are not negative.",
                ),
            ],
        },
    ),
    migrations.CreateModel(
        name="CountLine",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "count_class",
                models.CharField(
                    blank=True, help_text="The item's class when the sheet was made.", max_length=2
                ),
            ),
            ("is_recount_asked", models.BooleanField(default=False)),
            ("book", models.DecimalField(blank=True, decimal_places=4, max_digits=16, null=True)),
            ("difference", models.DecimalField(blank=True, decimal_places=4, max_digits=16, null=True)),
            ("unit_cost", models.DecimalField(blank=True, decimal_places=4, max_digits=12, null=True)),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="count_lines", to="bom.item"
                ),
            ),
        ],
        options={
            "ordering": ["location__walk_order", "location__code", "item__code", "lot__code"],
        },
    ),
    migrations.CreateModel(
        name="CountEntry",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("quantity", models.DecimalField(decimal_places=4, max_digits=16)),
            ("counted_at", models.DateTimeField()),
            (
                "key",
                models.CharField(
                    help_text="The form it came in; a repeat is the same count.",
                    max_length=120,
                    unique=True,
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
                "line",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="entries",
                    to="inventory.countline",
                ),
            ),
        ],
        options={
            "ordering": ["line", "id"],
        },
    ),
    migrations.CreateModel(
        name="CountSheet",
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
                        ("counting", "being counted"),
                        ("counted", "waits for approval"),
                        ("done", "done"),
                        ("cancelled", "cancelled"),
                    ],
                    default="counting",
                    max_length=10,
                ),
            ),
            ("note", models.CharField(blank=True, max_length=120)),
            (
                "key",
                models.CharField(
                    help_text="The form that made it, so that it is made once.",
                    max_length=120,
                    unique=True,
                ),
            ),
            ("made_at", models.DateTimeField(auto_now_add=True)),
            ("approved_at", models.DateTimeField(blank=True, null=True)),
            (
                "reason",
                models.CharField(
                    blank=True, help_text="What the approver says of the differences.", max_length=200
                ),
            ),
            (
                "approved_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
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
                "location",
                models.ForeignKey(
                    blank=True,
                    help_text="The place that is counted whole; none: chosen items, wherever they lie.",
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to="inventory.location",
                ),
            ),
        ],
        options={
            "ordering": ["-id"],
            "permissions": [("approve_count", "May approve a stocktake and post its differences")],
        },
    ),
    migrations.AddField(
        model_name="countline",
        name="sheet",
        field=models.ForeignKey(
            on_delete=django.db.models.deletion.CASCADE, related_name="lines", to="inventory.countsheet"
        ),
    ),
    migrations.CreateModel(
        name="DemandOneOff",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("week", models.DateField(help_text="The Monday.")),
            ("quantity", models.DecimalField(decimal_places=4, max_digits=14)),
            ("instead", models.DecimalField(decimal_places=4, max_digits=14)),
            ("reason", models.CharField(max_length=200)),
            ("is_put_back", models.BooleanField(default=False)),
            ("decided_at", models.DateTimeField(blank=True, null=True)),
            (
                "decided_by",
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
                    on_delete=django.db.models.deletion.CASCADE, related_name="one_offs", to="bom.item"
                ),
            ),
        ],
        options={
            "ordering": ["item", "week"],
        },
    ),
    migrations.CreateModel(
        name="Forecast",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("method", models.CharField(max_length=30)),
            ("weekly_mean", models.DecimalField(decimal_places=4, max_digits=14)),
            (
                "weekly_deviation",
                models.DecimalField(
                    decimal_places=4, help_text="Root of the mean squared error of a week.", max_digits=14
                ),
            ),
            ("error", models.DecimalField(decimal_places=4, max_digits=14)),
            ("naive_error", models.DecimalField(decimal_places=4, max_digits=14)),
            ("scaled", models.DecimalField(decimal_places=4, max_digits=10, null=True)),
            ("origins", models.PositiveSmallIntegerField()),
            ("horizon_weeks", models.PositiveSmallIntegerField()),
            ("weeks_seen", models.PositiveSmallIntegerField()),
            ("orders_reach_on", models.DateField(null=True)),
            ("computed_on", models.DateField()),
            (
                "item",
                models.OneToOneField(
                    on_delete=django.db.models.deletion.CASCADE, related_name="forecast", to="bom.item"
                ),
            ),
        ],
        options={
            "ordering": ["item"],
        },
    ),
    migrations.CreateModel(
        name="ForecastTrial",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("method", models.CharField(max_length=30)),
            ("error", models.DecimalField(decimal_places=4, max_digits=14)),
            ("scaled", models.DecimalField(decimal_places=4, max_digits=10, null=True)),
            (
                "forecast",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="trials",
                    to="inventory.forecast",
                ),
            ),
        ],
        options={
            "ordering": ["forecast", "error", "method"],
        },
    ),
    migrations.CreateModel(
        name="ForecastWeek",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("week", models.DateField(help_text="The Monday.")),
            ("quantity", models.DecimalField(decimal_places=4, max_digits=14)),
            (
                "forecast",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="weeks",
                    to="inventory.forecast",
                ),
            ),
        ],
        options={
            "ordering": ["forecast", "week"],
        },
    ),
    migrations.CreateModel(
        name="ItemClass",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("value_class", models.CharField(choices=[("A", "A"), ("B", "B"), ("C", "C")], max_length=1)),
            ("rank", models.PositiveIntegerField()),
            (
                "share",
                models.DecimalField(
                    decimal_places=6, help_text="Of the yearly value, with all dearer ones.", max_digits=7
                ),
            ),
            ("yearly_use", models.DecimalField(decimal_places=4, max_digits=14)),
            ("unit_cost", models.DecimalField(decimal_places=4, max_digits=14)),
            ("cost_basis", models.CharField(blank=True, max_length=40)),
            ("yearly_value", models.DecimalField(decimal_places=2, max_digits=16)),
            (
                "regularity",
                models.CharField(
                    choices=[
                        ("smooth", "smooth"),
                        ("intermittent", "intermittent"),
                        ("erratic", "erratic"),
                        ("lumpy", "lumpy"),
                        ("unused", "unused"),
                    ],
                    max_length=12,
                ),
            ),
            ("interval_weeks", models.DecimalField(decimal_places=3, max_digits=8)),
            ("spread", models.DecimalField(decimal_places=4, max_digits=10)),
            ("weeks_seen", models.PositiveIntegerField()),
            ("computed_on", models.DateField()),
            (
                "item",
                models.OneToOneField(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="demand_class",
                    to="bom.item",
                ),
            ),
        ],
        options={
            "ordering": ["rank"],
        },
    ),
    migrations.CreateModel(
        name="ItemCost",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("shelf", models.DecimalField(decimal_places=4, max_digits=16)),
            ("work", models.DecimalField(decimal_places=4, max_digits=16)),
            ("outside", models.DecimalField(decimal_places=4, max_digits=16)),
            ("owed", models.DecimalField(decimal_places=4, max_digits=16)),
            ("latest_cost_e8", models.BigIntegerField(null=True)),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE, related_name="+", to="bom.item"
                ),
            ),
            (
                "point",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="items",
                    to="inventory.costpoint",
                ),
            ),
        ],
    ),
    migrations.CreateModel(
        name="ItemLevel",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("reorder_point", models.DecimalField(decimal_places=4, default=Decimal("0"), max_digits=14)),
            ("is_manual", models.BooleanField(default=False)),
            (
                "service_level",
                models.DecimalField(
                    decimal_places=4,
                    default=Decimal("0.95"),
                    help_text="Chance of not running out, 0 to 1.",
                    max_digits=5,
                ),
            ),
            ("daily_mean", models.DecimalField(decimal_places=6, default=Decimal("0"), max_digits=14)),
            (
                "daily_deviation",
                models.DecimalField(decimal_places=6, default=Decimal("0"), max_digits=14),
            ),
            ("yearly_use", models.DecimalField(decimal_places=4, default=Decimal("0"), max_digits=14)),
            ("days_seen", models.PositiveIntegerField(default=0)),
            (
                "weeks_seen",
                models.PositiveIntegerField(
                    default=0,
                    help_text="Whole weeks the deviation comes from; 0 where it comes from single days.",
                ),
            ),
            (
                "method",
                models.CharField(
                    blank=True,
                    help_text="The forecast the mean comes from; empty for the history's mean.",
                    max_length=30,
                ),
            ),
            (
                "is_counted",
                models.BooleanField(default=False, help_text="So few are used that they are counted."),
            ),
            ("lead_days", models.DecimalField(decimal_places=2, default=Decimal("0"), max_digits=7)),
            (
                "lead_deviation_days",
                models.DecimalField(decimal_places=2, default=Decimal("0"), max_digits=7),
            ),
            ("deliveries_seen", models.PositiveIntegerField(default=0)),
            (
                "lead_ends_on",
                models.DateField(
                    blank=True,
                    help_text="When what was ordered on the day of working out would come.",
                    null=True,
                ),
            ),
            ("order_cost", models.DecimalField(blank=True, decimal_places=2, max_digits=10, null=True)),
            ("holding_rate", models.DecimalField(blank=True, decimal_places=4, max_digits=5, null=True)),
            ("worked_out_on", models.DateField(blank=True, null=True)),
            (
                "item",
                models.OneToOneField(
                    on_delete=django.db.models.deletion.CASCADE, related_name="level", to="bom.item"
                ),
            ),
        ],
        options={
            "ordering": ["item"],
            "permissions": [("settle_levels", "May set levels, accept them and put demand back")],
        },
    ),
    migrations.CreateModel(
        name="LabelLayout",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("name", models.CharField(max_length=60, unique=True)),
            ("page_width_mm", models.DecimalField(decimal_places=2, max_digits=6)),
            ("page_height_mm", models.DecimalField(decimal_places=2, max_digits=6)),
            ("columns", models.PositiveSmallIntegerField(default=1)),
            ("rows", models.PositiveSmallIntegerField(default=1)),
            ("label_width_mm", models.DecimalField(decimal_places=2, max_digits=6)),
            ("label_height_mm", models.DecimalField(decimal_places=2, max_digits=6)),
            ("left_mm", models.DecimalField(decimal_places=2, default=Decimal("0"), max_digits=6)),
            ("top_mm", models.DecimalField(decimal_places=2, default=Decimal("0"), max_digits=6)),
            ("pitch_x_mm", models.DecimalField(decimal_places=2, default=Decimal("0"), max_digits=6)),
            ("pitch_y_mm", models.DecimalField(decimal_places=2, default=Decimal("0"), max_digits=6)),
        ],
        options={
            "ordering": ["name"],
            "constraints": [
                models.CheckConstraint(
                    condition=models.Q(
                        ("label_width_mm__gt", 0),
                        ("label_height_mm__gt", 0),
                        ("page_width_mm__gt", 0),
                        ("page_height_mm__gt", 0),
                        ("columns__gt", 0),
                        ("rows__gt", 0),
                    ),
                    name="label_layout_sizes_above_zero",
                    violation_error_message="Sizes, columns and rows must be above zero.",
                )
            ],
        },
    ),
    migrations.CreateModel(
        name="Letterhead",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("name", models.CharField(max_length=120)),
            ("address", models.TextField(blank=True, help_text="One line each.")),
            (
                "deliver_to",
                models.TextField(blank=True, help_text="Where goods come to; empty means the same address."),
            ),
            ("email", models.EmailField(blank=True, max_length=254)),
            ("telephone", models.CharField(blank=True, max_length=40)),
            ("terms", models.TextField(blank=True, help_text="Sentences at the foot of an order.")),
            ("only", models.BooleanField(default=True, editable=False, unique=True)),
        ],
        options={
            "constraints": [
                models.CheckConstraint(condition=models.Q(("only", True)), name="letterhead_one_row")
            ],
        },
    ),
    migrations.CreateModel(
        name="LevelProposal",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("made_on", models.DateField()),
            ("in_force", models.DecimalField(decimal_places=4, max_digits=14)),
            ("proposed", models.DecimalField(decimal_places=4, max_digits=14)),
            ("was_manual", models.BooleanField(default=False)),
            (
                "state",
                models.CharField(
                    choices=[
                        ("waiting", "waiting"),
                        ("accepted", "accepted"),
                        ("kept", "kept as it was"),
                        ("overtaken", "overtaken by a later one"),
                    ],
                    default="waiting",
                    max_length=10,
                ),
            ),
            ("decided_at", models.DateTimeField(blank=True, null=True)),
            (
                "decided_by",
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
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="level_proposals",
                    to="bom.item",
                ),
            ),
        ],
        options={
            "ordering": ["-made_on", "item"],
        },
    ),
    migrations.CreateModel(
        name="LevelRules",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("a_share", models.DecimalField(decimal_places=3, default=Decimal("0.80"), max_digits=4)),
            ("b_share", models.DecimalField(decimal_places=3, default=Decimal("0.95"), max_digits=4)),
            (
                "order_cost",
                models.DecimalField(decimal_places=2, default=Decimal("18.00"), max_digits=10),
            ),
            (
                "holding_rate",
                models.DecimalField(decimal_places=4, default=Decimal("0.2500"), max_digits=5),
            ),
            (
                "propose_share",
                models.DecimalField(decimal_places=3, default=Decimal("0.100"), max_digits=4),
            ),
            ("slow_days", models.PositiveSmallIntegerField(default=90)),
            ("dead_days", models.PositiveSmallIntegerField(default=180)),
        ],
        options={
            "constraints": [
                models.CheckConstraint(condition=models.Q(("id", 1)), name="level_rules_one_row"),
                models.CheckConstraint(
                    condition=models.Q(
                        ("a_share__gt", 0), ("a_share__lte", models.F("b_share")), ("b_share__lte", 1)
                    ),
                    name="level_rules_cuts_rise",
                    violation_error_message="The cuts rise: A above 0, B at least A and at most 1.",
                ),
                models.CheckConstraint(
                    condition=models.Q(
                        ("order_cost__gte", 0), ("holding_rate__gt", 0), ("propose_share__gte", 0)
                    ),
                    name="level_rules_costs",
                    violation_error_message="An order costs nothing or more; keeping stock costs more than nothing.",
                ),
                models.CheckConstraint(
                    condition=models.Q(("slow_days__gt", 0), ("slow_days__lte", models.F("dead_days"))),
                    name="level_rules_idle_days_rise",
                    violation_error_message="Stock is slow before it is dead.",
                ),
            ],
        },
    ),
    migrations.CreateModel(
        name="LevelRun",
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
            ("today", models.DateField()),
            ("items_seen", models.PositiveIntegerField(default=0)),
            ("forecasts_made", models.PositiveIntegerField(default=0)),
            ("proposals_made", models.PositiveIntegerField(default=0)),
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
        name="HandlingRule",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "bin_quantity",
                models.DecimalField(
                    decimal_places=4,
                    default=Decimal("0"),
                    help_text="What a full bin holds, if two bins stand at work; 0 if it is picked and not kept in bins.",
                    max_digits=14,
                ),
            ),
            (
                "is_inspected",
                models.BooleanField(default=False, help_text="Goes on hold when it comes, until released."),
            ),
            (
                "count_class",
                models.ForeignKey(
                    blank=True,
                    help_text="Its class set by hand; none: by the value used.",
                    null=True,
                    on_delete=django.db.models.deletion.SET_NULL,
                    related_name="+",
                    to="inventory.countclass",
                ),
            ),
            (
                "item",
                models.OneToOneField(
                    on_delete=django.db.models.deletion.CASCADE, related_name="handling", to="bom.item"
                ),
            ),
            (
                "home",
                models.ForeignKey(
                    blank=True,
                    help_text="Its own place.",
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to="inventory.location",
                ),
            ),
        ],
        options={
            "ordering": ["item"],
        },
    ),
    migrations.AddField(
        model_name="countline",
        name="location",
        field=models.ForeignKey(
            on_delete=django.db.models.deletion.PROTECT, related_name="+", to="inventory.location"
        ),
    ),
    migrations.CreateModel(
        name="Lot",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("code", models.CharField(max_length=60)),
            (
                "kind",
                models.CharField(
                    choices=[
                        ("lot", "lot"),
                        ("cast", "steel cast"),
                        ("serial", "serial number"),
                        ("offcut", "offcut"),
                    ],
                    default="lot",
                    max_length=8,
                ),
            ),
            (
                "cast",
                models.CharField(
                    blank=True, help_text="Cast number of the steel, where known.", max_length=60
                ),
            ),
            ("received_on", models.DateField(blank=True, null=True)),
            ("length_mm", models.DecimalField(blank=True, decimal_places=1, max_digits=10, null=True)),
            ("width_mm", models.DecimalField(blank=True, decimal_places=1, max_digits=10, null=True)),
            (
                "outline",
                models.TextField(blank=True, help_text="Vertices of an offcut, as in bom.geometry.outlines."),
            ),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="lots", to="bom.item"
                ),
            ),
        ],
        options={
            "ordering": ["item", "code"],
        },
    ),
    migrations.AddField(
        model_name="countline",
        name="lot",
        field=models.ForeignKey(
            blank=True,
            null=True,
            on_delete=django.db.models.deletion.PROTECT,
            related_name="+",
            to="inventory.lot",
        ),
    ),
    migrations.CreateModel(
        name="Balance",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("quantity", models.DecimalField(decimal_places=4, default=Decimal("0"), max_digits=16)),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="balances", to="bom.item"
                ),
            ),
            (
                "location",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="balances",
                    to="inventory.location",
                ),
            ),
            (
                "lot",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="balances",
                    to="inventory.lot",
                ),
            ),
        ],
        options={
            "ordering": ["item", "location"],
        },
    ),
    migrations.CreateModel(
        name="OutsideAnswer",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("key", models.CharField(max_length=80, unique=True)),
            ("at", models.DateTimeField()),
            ("promised_on", models.DateField(blank=True, null=True)),
            (
                "before_on",
                models.DateField(blank=True, help_text="When it was expected until then.", null=True),
            ),
            ("words", models.CharField(blank=True, max_length=300)),
            ("again_on", models.DateField(blank=True, help_text="When to ask again.", null=True)),
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
                "line",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="answers",
                    to="inventory.outsideline",
                ),
            ),
        ],
        options={
            "ordering": ["line", "at", "id"],
        },
    ),
    migrations.CreateModel(
        name="OutsidePiece",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "label",
                models.CharField(
                    blank=True, help_text="For which order; empty for the shelf.", max_length=40
                ),
            ),
            ("sent", models.DecimalField(decimal_places=4, max_digits=14)),
            ("back", models.DecimalField(decimal_places=4, default=Decimal("0"), max_digits=14)),
            ("written_off", models.DecimalField(decimal_places=4, default=Decimal("0"), max_digits=14)),
            (
                "came_to",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to="inventory.location",
                ),
            ),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="outside_pieces",
                    to="bom.item",
                ),
            ),
            (
                "line",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="pieces",
                    to="inventory.outsideline",
                ),
            ),
            (
                "lot",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to="inventory.lot",
                ),
            ),
        ],
        options={
            "ordering": ["line", "id"],
        },
    ),
    migrations.CreateModel(
        name="OutsideService",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "work",
                models.SlugField(help_text="As the route of an item names it: galvanise.", max_length=20),
            ),
            (
                "name",
                models.CharField(help_text="As it stands on an order: hot-dip galvanising.", max_length=80),
            ),
            ("price_per_kg", models.DecimalField(decimal_places=4, max_digits=10)),
            (
                "minimum_kg",
                models.DecimalField(
                    decimal_places=2,
                    default=Decimal("0"),
                    help_text="So much is charged at least for a load.",
                    max_digits=10,
                ),
            ),
            (
                "days_away",
                models.PositiveSmallIntegerField(help_text="Working days, as the supplier states them."),
            ),
            ("is_preferred", models.BooleanField(default=True)),
            (
                "place",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="services",
                    to="inventory.location",
                ),
            ),
        ],
        options={
            "ordering": ["work", "-is_preferred", "supplier"],
        },
    ),
    migrations.AddField(
        model_name="outsideline",
        name="service",
        field=models.ForeignKey(
            on_delete=django.db.models.deletion.PROTECT,
            related_name="lines",
            to="inventory.outsideservice",
        ),
    ),
    migrations.CreateModel(
        name="Posting",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("key", models.CharField(max_length=120, unique=True)),
            (
                "kind",
                models.CharField(
                    choices=[
                        ("opening", "opening stock"),
                        ("receipt", "goods-in"),
                        ("move", "moved"),
                        ("issue", "issued to work"),
                        ("return", "returned to the shelf"),
                        ("make", "made"),
                        ("scrap", "scrapped"),
                        ("count", "counted"),
                        ("dispatch", "gone to the customer"),
                        ("reversal", "reversed"),
                        ("hold", "put on hold"),
                        ("freed", "released from hold"),
                        ("sent_back", "sent back to the supplier"),
                    ],
                    max_length=10,
                ),
            ),
            ("happened_at", models.DateTimeField()),
            ("recorded_at", models.DateTimeField(auto_now_add=True)),
            ("reason", models.CharField(blank=True, max_length=200)),
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
                "reverses",
                models.OneToOneField(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="reversed_by",
                    to="inventory.posting",
                ),
            ),
            (
                "purpose",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="postings",
                    to="inventory.purpose",
                ),
            ),
        ],
        options={
            "ordering": ["-happened_at", "-id"],
            "permissions": [
                ("receive_goods", "May book goods in"),
                ("issue_stock", "May pick, issue and return stock"),
                ("count_stock", "May post a count"),
                ("scrap_stock", "May scrap stock"),
                ("reverse_posting", "May reverse a posting"),
                ("hold_stock", "May put goods on hold and release them"),
                ("send_back", "May send goods back to the supplier"),
            ],
        },
    ),
    migrations.AddField(
        model_name="outsideline",
        name="posting",
        field=models.OneToOneField(
            on_delete=django.db.models.deletion.PROTECT,
            related_name="outside_line",
            to="inventory.posting",
        ),
    ),
    migrations.CreateModel(
        name="OutsideClaim",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("key", models.CharField(max_length=80, unique=True)),
            (
                "kind",
                models.CharField(choices=[("missing", "missing"), ("damaged", "damaged")], max_length=8),
            ),
            ("quantity", models.DecimalField(decimal_places=4, max_digits=14)),
            ("found", models.DecimalField(decimal_places=4, default=Decimal("0"), max_digits=14)),
            ("reason", models.CharField(max_length=200)),
            (
                "state",
                models.CharField(
                    choices=[
                        ("open", "claimed"),
                        ("found", "found"),
                        ("made_good", "made good"),
                        ("refused", "refused"),
                    ],
                    default="open",
                    max_length=10,
                ),
            ),
            ("at", models.DateTimeField()),
            ("settled_at", models.DateTimeField(blank=True, null=True)),
            ("credit", models.DecimalField(decimal_places=2, default=Decimal("0"), max_digits=12)),
            (
                "answer",
                models.CharField(blank=True, help_text="What the supplier said of it.", max_length=200),
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
                "settled_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "piece",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="claims",
                    to="inventory.outsidepiece",
                ),
            ),
            (
                "posting",
                models.OneToOneField(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="outside_claim",
                    to="inventory.posting",
                ),
            ),
        ],
        options={
            "ordering": ["-at", "-id"],
        },
    ),
    migrations.CreateModel(
        name="Movement",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("quantity", models.DecimalField(decimal_places=4, max_digits=16)),
            ("happened_at", models.DateTimeField(editable=False)),
            (
                "item",
                models.ForeignKey(
                    db_index=False,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="movements",
                    to="bom.item",
                ),
            ),
            (
                "location",
                models.ForeignKey(
                    db_index=False,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="movements",
                    to="inventory.location",
                ),
            ),
            (
                "lot",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="movements",
                    to="inventory.lot",
                ),
            ),
            (
                "posting",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="movements",
                    to="inventory.posting",
                ),
            ),
        ],
        options={
            "ordering": ["id"],
        },
    ),
    migrations.AddField(
        model_name="countsheet",
        name="posting",
        field=models.OneToOneField(
            blank=True,
            null=True,
            on_delete=django.db.models.deletion.PROTECT,
            related_name="count_sheet",
            to="inventory.posting",
        ),
    ),
    migrations.CreateModel(
        name="CostLayer",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("at", models.DateTimeField()),
            ("quantity", models.DecimalField(decimal_places=4, max_digits=16)),
            ("value_e8", models.BigIntegerField()),
            (
                "item_cost",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="layers",
                    to="inventory.itemcost",
                ),
            ),
            (
                "posting",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="+", to="inventory.posting"
                ),
            ),
        ],
        options={
            "ordering": ["item_cost", "at", "posting"],
        },
    ),
    migrations.CreateModel(
        name="ChargeShare",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("amount", models.DecimalField(decimal_places=2, max_digits=12)),
            (
                "charge",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="shares",
                    to="inventory.charge",
                ),
            ),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="charge_shares",
                    to="bom.item",
                ),
            ),
            (
                "posting",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="charge_shares",
                    to="inventory.posting",
                ),
            ),
        ],
        options={
            "ordering": ["charge", "id"],
        },
    ),
    migrations.CreateModel(
        name="BinSignal",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("raised_at", models.DateTimeField(default=django.utils.timezone.now)),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE, related_name="bin_signals", to="bom.item"
                ),
            ),
            (
                "raised_by",
                models.ForeignKey(
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "answered_by",
                models.OneToOneField(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="bin_signal",
                    to="inventory.posting",
                ),
            ),
        ],
        options={
            "ordering": ["raised_at", "id"],
        },
    ),
    migrations.CreateModel(
        name="PurchaseOrder",
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
                        ("draft", "draft"),
                        ("released", "released"),
                        ("done", "done"),
                        ("cancelled", "cancelled"),
                    ],
                    default="draft",
                    max_length=10,
                ),
            ),
            ("ordered_on", models.DateField(blank=True, null=True)),
            ("made_at", models.DateTimeField(auto_now_add=True)),
            ("asked_at", models.DateTimeField(blank=True, null=True)),
            ("approved_at", models.DateTimeField(blank=True, null=True)),
            (
                "approved_value",
                models.DecimalField(blank=True, decimal_places=2, max_digits=16, null=True),
            ),
            ("cancelled_at", models.DateTimeField(blank=True, null=True)),
            ("cancel_reason", models.CharField(blank=True, max_length=200)),
            (
                "approved_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "asked_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "cancelled_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
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
                ("release_purchaseorder", "May release a purchase order to the supplier"),
                ("approve_purchaseorder", "May approve a purchase order that is above another's limit"),
                ("confirm_purchaseorder", "May enter what a supplier confirmed, and chase a line"),
            ],
        },
    ),
    migrations.AddField(
        model_name="outsideline",
        name="order",
        field=models.ForeignKey(
            on_delete=django.db.models.deletion.PROTECT,
            related_name="outside_lines",
            to="inventory.purchaseorder",
        ),
    ),
    migrations.CreateModel(
        name="OrderPaper",
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
            ("copy", models.PositiveSmallIntegerField(help_text="1 for the first sending.")),
            ("key", models.CharField(max_length=60, unique=True)),
            ("pdf", models.BinaryField(null=True)),
            ("pdf_sha256", models.CharField(blank=True, max_length=64)),
            ("workbook", models.BinaryField(null=True)),
            ("workbook_sha256", models.CharField(blank=True, max_length=64)),
            ("mailed_to", models.EmailField(blank=True, max_length=254)),
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
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="papers",
                    to="inventory.purchaseorder",
                ),
            ),
        ],
        options={
            "ordering": ["order", "-copy"],
        },
    ),
    migrations.CreateModel(
        name="PurchaseOrderLine",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("position", models.PositiveSmallIntegerField()),
            ("quantity", models.DecimalField(decimal_places=4, max_digits=14)),
            ("received", models.DecimalField(decimal_places=4, default=Decimal("0"), max_digits=14)),
            ("price", models.DecimalField(decimal_places=4, max_digits=12)),
            ("due_on", models.DateField()),
            (
                "asked_quantity",
                models.DecimalField(blank=True, decimal_places=4, max_digits=14, null=True),
            ),
            ("wanted_on", models.DateField(blank=True, null=True)),
            (
                "confirmed_on",
                models.DateField(blank=True, help_text="The day the supplier named last.", null=True),
            ),
            (
                "is_closed",
                models.BooleanField(default=False, help_text="No more will come, whatever was ordered."),
            ),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="purchase_lines",
                    to="bom.item",
                ),
            ),
            (
                "order",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="lines",
                    to="inventory.purchaseorder",
                ),
            ),
            (
                "rest_of",
                models.ForeignKey(
                    blank=True,
                    help_text="The line of which the supplier brings this part later.",
                    null=True,
                    on_delete=django.db.models.deletion.SET_NULL,
                    related_name="rests",
                    to="inventory.purchaseorderline",
                ),
            ),
        ],
        options={
            "ordering": ["order", "position"],
        },
    ),
    migrations.CreateModel(
        name="Confirmation",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("key", models.CharField(max_length=60, unique=True)),
            ("promised_on", models.DateField()),
            ("quantity", models.DecimalField(decimal_places=4, max_digits=14)),
            ("before_on", models.DateField(help_text="When it was expected until then.")),
            ("before_quantity", models.DecimalField(decimal_places=4, max_digits=14)),
            ("at", models.DateTimeField()),
            ("note", models.CharField(blank=True, max_length=200)),
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
                "line",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="confirmations",
                    to="inventory.purchaseorderline",
                ),
            ),
        ],
        options={
            "ordering": ["line", "at", "id"],
        },
    ),
    migrations.CreateModel(
        name="Chase",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("key", models.CharField(max_length=60, unique=True)),
            ("at", models.DateTimeField()),
            ("answer", models.CharField(max_length=300)),
            ("again_on", models.DateField()),
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
                "line",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="chases",
                    to="inventory.purchaseorderline",
                ),
            ),
        ],
        options={
            "ordering": ["line", "-at", "-id"],
        },
    ),
    migrations.CreateModel(
        name="ReasonCode",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "use",
                models.CharField(
                    choices=[
                        ("scrap", "scrap"),
                        ("hold", "put on hold"),
                        ("sent_back", "send back to the supplier"),
                        ("reassign", "give to another order"),
                    ],
                    max_length=10,
                ),
            ),
            ("code", models.SlugField(max_length=20)),
            ("name", models.CharField(max_length=80)),
            (
                "is_active",
                models.BooleanField(
                    default=True, help_text="Old codes stay on old postings and are not offered."
                ),
            ),
        ],
        options={
            "ordering": ["use", "name"],
            "constraints": [models.UniqueConstraint(fields=("use", "code"), name="reason_code_once_a_use")],
        },
    ),
    migrations.AddField(
        model_name="posting",
        name="reason_code",
        field=models.ForeignKey(
            blank=True,
            null=True,
            on_delete=django.db.models.deletion.PROTECT,
            related_name="postings",
            to="inventory.reasoncode",
        ),
    ),
    migrations.CreateModel(
        name="Receipt",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("quantity", models.DecimalField(decimal_places=4, max_digits=14)),
            (
                "line",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="receipts",
                    to="inventory.purchaseorderline",
                ),
            ),
            (
                "posting",
                models.OneToOneField(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="receipt",
                    to="inventory.posting",
                ),
            ),
        ],
        options={
            "ordering": ["line", "id"],
        },
    ),
    migrations.CreateModel(
        name="Reservation",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("quantity", models.DecimalField(decimal_places=4, max_digits=16)),
            ("made_at", models.DateTimeField(auto_now_add=True)),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="reservations",
                    to="bom.item",
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
                "purpose",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="reservations",
                    to="inventory.purpose",
                ),
            ),
        ],
        options={
            "ordering": ["item", "purpose"],
            "permissions": [("reserve_stock", "May keep stock for an order")],
        },
    ),
    migrations.CreateModel(
        name="ReservationChange",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("quantity", models.DecimalField(decimal_places=4, max_digits=16)),
            ("reason", models.CharField(blank=True, max_length=200)),
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
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="reservation_changes",
                    to="bom.item",
                ),
            ),
            (
                "reason_code",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    to="inventory.reasoncode",
                ),
            ),
            (
                "source",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="+",
                    to="inventory.purpose",
                ),
            ),
            (
                "target",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="+",
                    to="inventory.purpose",
                ),
            ),
        ],
        options={
            "ordering": ["-at", "-id"],
        },
    ),
    migrations.CreateModel(
        name="StatedCost",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("unit_cost", models.DecimalField(decimal_places=4, max_digits=12)),
            ("reason", models.CharField(max_length=200)),
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
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="stated_costs",
                    to="bom.item",
                ),
            ),
            (
                "posting",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="stated_costs",
                    to="inventory.posting",
                ),
            ),
        ],
        options={
            "ordering": ["id"],
        },
    ),
    migrations.CreateModel(
        name="Substitute",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "both_ways",
                models.BooleanField(default=False, help_text="The first may be taken for the second, too."),
            ),
            (
                "note",
                models.CharField(
                    help_text="When, and what to mind: a longer screw, another colour.", max_length=200
                ),
            ),
            (
                "instead",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="substitute_for",
                    to="bom.item",
                ),
            ),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE, related_name="substitutes", to="bom.item"
                ),
            ),
        ],
        options={
            "ordering": ["item", "instead"],
        },
    ),
    migrations.CreateModel(
        name="Supplier",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("code", models.CharField(max_length=20, unique=True)),
            ("name", models.CharField(max_length=120)),
            (
                "lead_days",
                models.PositiveSmallIntegerField(
                    default=5, help_text="Working days, where an item has none."
                ),
            ),
            ("minimum_value", models.DecimalField(decimal_places=2, default=Decimal("0"), max_digits=10)),
            (
                "delivery_weekday",
                models.PositiveSmallIntegerField(blank=True, help_text="0 Monday … 6 Sunday", null=True),
            ),
            (
                "address",
                models.TextField(blank=True, help_text="As it stands on an order paper, one line each."),
            ),
            (
                "email",
                models.EmailField(
                    blank=True, help_text="Where orders are sent; empty means by hand.", max_length=254
                ),
            ),
            (
                "confirm_days",
                models.PositiveSmallIntegerField(
                    default=3,
                    help_text="Working days after which a line that nobody has confirmed is chased.",
                ),
            ),
            (
                "lead_percentile",
                models.PositiveSmallIntegerField(
                    default=80,
                    help_text="Plan by the lead time within which so many of 100 deliveries came.",
                ),
            ),
            (
                "fewest_deliveries",
                models.PositiveSmallIntegerField(
                    default=5,
                    help_text="Fewer deliveries of an item than this, and its stated lead time is planned by.",
                ),
            ),
            (
                "over_percent",
                models.DecimalField(
                    blank=True,
                    decimal_places=2,
                    help_text="How much more than ordered is taken without asking, percent of the line; none: as of all.",
                    max_digits=5,
                    null=True,
                ),
            ),
        ],
        options={
            "ordering": ["code"],
            "permissions": [("change_terms", "May change a supplier's terms, prices and our own address")],
            "constraints": [
                models.CheckConstraint(
                    condition=models.Q(("lead_percentile__gte", 1), ("lead_percentile__lte", 99)),
                    name="supplier_percentile_1_to_99",
                    violation_error_message="Write a whole number from 1 to 99.",
                ),
                models.CheckConstraint(
                    condition=models.Q(
                        ("delivery_weekday__isnull", True), ("delivery_weekday__lte", 6), _connector="OR"
                    ),
                    name="supplier_weekday_of_seven",
                    violation_error_message="A weekday is 0 (Monday) to 6 (Sunday).",
                ),
                models.CheckConstraint(
                    condition=models.Q(
                        ("over_percent__isnull", True), ("over_percent__gte", 0), _connector="OR"
                    ),
                    name="supplier_over_not_negative",
                    violation_error_message="Write zero or more percent, or leave it empty.",
                ),
            ],
        },
    ),
    migrations.AddField(
        model_name="purchaseorder",
        name="supplier",
        field=models.ForeignKey(
            on_delete=django.db.models.deletion.PROTECT, related_name="orders", to="inventory.supplier"
        ),
    ),
    migrations.AddField(
        model_name="outsideservice",
        name="supplier",
        field=models.ForeignKey(
            on_delete=django.db.models.deletion.PROTECT, related_name="services", to="inventory.supplier"
        ),
    ),
    migrations.CreateModel(
        name="SupplierItem",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("price", models.DecimalField(decimal_places=4, max_digits=12)),
            ("pack", models.DecimalField(decimal_places=4, default=Decimal("1"), max_digits=12)),
            ("lead_days", models.PositiveSmallIntegerField()),
            ("is_preferred", models.BooleanField(default=True)),
            ("their_code", models.CharField(blank=True, max_length=60)),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE, related_name="suppliers", to="bom.item"
                ),
            ),
            (
                "supplier",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="items",
                    to="inventory.supplier",
                ),
            ),
        ],
        options={
            "ordering": ["item", "-is_preferred", "price"],
        },
    ),
    migrations.CreateModel(
        name="SupplierPrice",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("from_quantity", models.DecimalField(decimal_places=4, max_digits=14)),
            ("price", models.DecimalField(decimal_places=4, max_digits=12)),
            ("valid_from", models.DateField()),
            (
                "valid_until",
                models.DateField(
                    blank=True, help_text="Last day; none means until further notice.", null=True
                ),
            ),
            (
                "sold",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="breaks",
                    to="inventory.supplieritem",
                ),
            ),
        ],
        options={
            "ordering": ["sold", "from_quantity", "valid_from"],
        },
    ),
    migrations.CreateModel(
        name="SupplierReturn",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("quantity", models.DecimalField(decimal_places=4, max_digits=14)),
            (
                "is_replaced",
                models.BooleanField(
                    default=False, help_text="The supplier is to send others in their place."
                ),
            ),
            (
                "line",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="returns",
                    to="inventory.purchaseorderline",
                ),
            ),
            (
                "posting",
                models.OneToOneField(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="supplier_return",
                    to="inventory.posting",
                ),
            ),
            (
                "supplier",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="returns",
                    to="inventory.supplier",
                ),
            ),
        ],
        options={
            "ordering": ["-id"],
        },
    ),
    migrations.CreateModel(
        name="BuyingLimit",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("releases_up_to", models.DecimalField(decimal_places=2, max_digits=12)),
            (
                "approves_up_to",
                models.DecimalField(blank=True, decimal_places=2, max_digits=12, null=True),
            ),
            (
                "person",
                models.OneToOneField(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="buying_limit",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "role",
                models.OneToOneField(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="buying_limit",
                    to="auth.group",
                ),
            ),
        ],
        options={
            "ordering": ["role", "person"],
            "permissions": [("set_limits", "May set how much money a person may bind by an order")],
            "constraints": [
                models.CheckConstraint(
                    condition=models.Q(
                        models.Q(("person__isnull", True), ("role__isnull", False)),
                        models.Q(("person__isnull", False), ("role__isnull", True)),
                        _connector="OR",
                    ),
                    name="limit_of_a_person_or_a_role",
                    violation_error_message="A limit is a person's or a role's, not both.",
                ),
                models.CheckConstraint(
                    condition=models.Q(("releases_up_to__gte", 0)),
                    name="limit_not_negative",
                    violation_error_message="A limit cannot be below zero.",
                ),
            ],
        },
    ),
    migrations.AddConstraint(
        model_name="charge",
        constraint=models.CheckConstraint(
            condition=models.Q(("amount", 0), _negated=True), name="charge_not_zero"
        ),
    ),
    migrations.AddConstraint(
        model_name="costmethod",
        constraint=models.UniqueConstraint(
            django.db.models.functions.comparison.Coalesce("item", 0),
            condition=models.Q(("item__isnull", True)),
            name="cost_method_one_of_the_workshop",
        ),
    ),
    migrations.AddConstraint(
        model_name="countentry",
        constraint=models.CheckConstraint(
            condition=models.Q(("quantity__gte", 0)),
            name="count_entry_not_negative",
            violation_error_message="Count from zero up.",
        ),
    ),
    migrations.AddConstraint(
        model_name="demandoneoff",
        constraint=models.UniqueConstraint(fields=("item", "week"), name="one_off_once_a_week"),
    ),
    migrations.AddConstraint(
        model_name="forecasttrial",
        constraint=models.UniqueConstraint(fields=("forecast", "method"), name="forecast_method_tried_once"),
    ),
    migrations.AddConstraint(
        model_name="forecastweek",
        constraint=models.UniqueConstraint(fields=("forecast", "week"), name="forecast_week_once"),
    ),
    migrations.AddConstraint(
        model_name="itemcost",
        constraint=models.UniqueConstraint(fields=("point", "item"), name="item_cost_once_a_point"),
    ),
    migrations.AddConstraint(
        model_name="itemlevel",
        constraint=models.CheckConstraint(
            condition=models.Q(("service_level__gt", 0), ("service_level__lt", 1)),
            name="level_service_between_0_and_1",
            violation_error_message="A service level lies between 0 and 1, e.g. 0.95.",
        ),
    ),
    migrations.AddConstraint(
        model_name="itemlevel",
        constraint=models.CheckConstraint(
            condition=models.Q(
                models.Q(("order_cost__isnull", True), ("order_cost__gte", 0), _connector="OR"),
                models.Q(("holding_rate__isnull", True), ("holding_rate__gt", 0), _connector="OR"),
            ),
            name="level_costs_make_sense",
            violation_error_message="An order costs nothing or more; keeping stock costs more than nothing.",
        ),
    ),
    migrations.AddConstraint(
        model_name="levelproposal",
        constraint=models.UniqueConstraint(
            condition=models.Q(("state", "waiting")), fields=("item",), name="level_proposal_one_waiting"
        ),
    ),
    migrations.AddConstraint(
        model_name="handlingrule",
        constraint=models.CheckConstraint(
            condition=models.Q(("bin_quantity__gte", 0)),
            name="handling_bin_not_negative",
            violation_error_message="A bin cannot hold less than nothing.",
        ),
    ),
    migrations.AddConstraint(
        model_name="lot",
        constraint=models.UniqueConstraint(fields=("item", "code"), name="lot_code_once_an_item"),
    ),
    migrations.AddConstraint(
        model_name="countline",
        constraint=models.UniqueConstraint(
            condition=models.Q(("lot__isnull", False)),
            fields=("sheet", "item", "location", "lot"),
            name="count_line_once_a_lot",
        ),
    ),
    migrations.AddConstraint(
        model_name="countline",
        constraint=models.UniqueConstraint(
            condition=models.Q(("lot__isnull", True)),
            fields=("sheet", "item", "location"),
            name="count_line_once_without_lot",
        ),
    ),
    migrations.AddIndex(
        model_name="balance",
        index=models.Index(fields=["location", "item"], name="balance_location_item"),
    ),
    migrations.AddConstraint(
        model_name="balance",
        constraint=models.UniqueConstraint(
            condition=models.Q(("lot__isnull", False)),
            fields=("item", "location", "lot"),
            name="balance_once_a_lot",
        ),
    ),
    migrations.AddConstraint(
        model_name="balance",
        constraint=models.UniqueConstraint(
            condition=models.Q(("lot__isnull", True)),
            fields=("item", "location"),
            name="balance_once_without_lot",
        ),
    ),
    migrations.AddConstraint(
        model_name="outsideanswer",
        constraint=models.CheckConstraint(
            condition=models.Q(("promised_on__isnull", False), ("again_on__isnull", False), _connector="OR"),
            name="outside_answer_says_something",
        ),
    ),
    migrations.AddConstraint(
        model_name="outsidepiece",
        constraint=models.CheckConstraint(
            condition=models.Q(
                ("sent__gt", 0),
                ("back__gte", 0),
                ("back__lte", models.F("sent")),
                ("written_off__gte", 0),
                ("written_off__lte", models.F("sent")),
            ),
            name="outside_piece_within_sent",
            violation_error_message="No more can come back than was sent.",
        ),
    ),
    migrations.AddIndex(
        model_name="outsideclaim",
        index=models.Index(fields=["state"], name="outside_claim_state"),
    ),
    migrations.AddConstraint(
        model_name="outsideclaim",
        constraint=models.CheckConstraint(
            condition=models.Q(
                ("quantity__gt", 0),
                ("found__gte", 0),
                ("found__lte", models.F("quantity")),
                ("credit__gte", 0),
            ),
            name="outside_claim_figures",
        ),
    ),
    migrations.AddConstraint(
        model_name="outsideclaim",
        constraint=models.CheckConstraint(
            condition=models.Q(("reason", ""), _negated=True), name="outside_claim_has_a_reason"
        ),
    ),
    migrations.AddIndex(
        model_name="movement",
        index=models.Index(fields=["item", "happened_at", "posting"], name="movement_latest_item"),
    ),
    migrations.AddIndex(
        model_name="movement",
        index=models.Index(fields=["location", "happened_at", "posting"], name="movement_latest_place"),
    ),
    migrations.AddConstraint(
        model_name="movement",
        constraint=models.CheckConstraint(
            condition=models.Q(("quantity", 0), _negated=True), name="movement_quantity_not_zero"
        ),
    ),
    migrations.AddConstraint(
        model_name="chargeshare",
        constraint=models.UniqueConstraint(fields=("charge", "posting", "item"), name="charge_share_once"),
    ),
    migrations.AddConstraint(
        model_name="binsignal",
        constraint=models.UniqueConstraint(
            condition=models.Q(("answered_by__isnull", True)),
            fields=("item",),
            name="bin_signal_open_once",
        ),
    ),
    migrations.AddIndex(
        model_name="outsideline",
        index=models.Index(fields=["is_closed", "due_on"], name="outside_open"),
    ),
    migrations.AddConstraint(
        model_name="outsideline",
        constraint=models.UniqueConstraint(fields=("order", "position"), name="outside_position_once"),
    ),
    migrations.AddConstraint(
        model_name="outsideline",
        constraint=models.CheckConstraint(
            condition=models.Q(("mass_kg__gt", 0)),
            name="outside_mass_above_zero",
            violation_error_message="The mass sent must be above zero.",
        ),
    ),
    migrations.AddConstraint(
        model_name="orderpaper",
        constraint=models.UniqueConstraint(fields=("order", "copy"), name="order_paper_copy_once"),
    ),
    migrations.AddIndex(
        model_name="purchaseorderline",
        index=models.Index(fields=["item", "is_closed"], name="purchase_item_open"),
    ),
    migrations.AddConstraint(
        model_name="purchaseorderline",
        constraint=models.UniqueConstraint(fields=("order", "position"), name="purchase_position_once"),
    ),
    migrations.AddConstraint(
        model_name="purchaseorderline",
        constraint=models.CheckConstraint(
            condition=models.Q(("quantity__gt", 0)),
            name="purchase_quantity_above_zero",
            violation_error_message="The quantity bought must be above zero.",
        ),
    ),
    migrations.AddConstraint(
        model_name="purchaseorderline",
        constraint=models.CheckConstraint(
            condition=models.Q(("received__gte", 0)), name="purchase_received_not_negative"
        ),
    ),
    migrations.AddConstraint(
        model_name="confirmation",
        constraint=models.CheckConstraint(
            condition=models.Q(("quantity__gt", 0)), name="confirmation_quantity_above_zero"
        ),
    ),
    migrations.AddIndex(
        model_name="posting",
        index=models.Index(fields=["happened_at", "id"], name="posting_latest"),
    ),
    migrations.AddIndex(
        model_name="posting",
        index=models.Index(fields=["kind", "happened_at", "id"], name="posting_latest_kind"),
    ),
    migrations.AddIndex(
        model_name="posting",
        index=models.Index(
            condition=models.Q(("reverses__isnull", False)),
            fields=["happened_at", "reverses"],
            name="posting_reversals",
        ),
    ),
    migrations.AddConstraint(
        model_name="receipt",
        constraint=models.CheckConstraint(
            condition=models.Q(("quantity__gt", 0)), name="receipt_quantity_above_zero"
        ),
    ),
    migrations.AddConstraint(
        model_name="reservation",
        constraint=models.UniqueConstraint(fields=("item", "purpose"), name="reservation_once_a_purpose"),
    ),
    migrations.AddConstraint(
        model_name="reservation",
        constraint=models.CheckConstraint(
            condition=models.Q(("quantity__gt", 0)),
            name="reservation_above_zero",
            violation_error_message="A reservation must be for more than nothing.",
        ),
    ),
    migrations.AddConstraint(
        model_name="reservationchange",
        constraint=models.CheckConstraint(
            condition=models.Q(("quantity__gt", 0)), name="reservation_change_above_zero"
        ),
    ),
    migrations.AddConstraint(
        model_name="reservationchange",
        constraint=models.CheckConstraint(
            condition=models.Q(("source__isnull", False), ("target__isnull", False), _connector="OR"),
            name="reservation_change_has_an_order",
        ),
    ),
    migrations.AddConstraint(
        model_name="statedcost",
        constraint=models.CheckConstraint(
            condition=models.Q(("unit_cost__gte", 0)),
            name="stated_cost_not_negative",
            violation_error_message="A cost cannot be below zero.",
        ),
    ),
    migrations.AddConstraint(
        model_name="substitute",
        constraint=models.UniqueConstraint(fields=("item", "instead"), name="substitute_once"),
    ),
    migrations.AddConstraint(
        model_name="substitute",
        constraint=models.CheckConstraint(
            condition=models.Q(("item", models.F("instead")), _negated=True),
            name="substitute_is_another",
            violation_error_message="An item is no substitute for itself.",
        ),
    ),
    migrations.AddConstraint(
        model_name="outsideservice",
        constraint=models.UniqueConstraint(fields=("work", "supplier"), name="outside_service_once"),
    ),
    migrations.AddConstraint(
        model_name="outsideservice",
        constraint=models.CheckConstraint(
            condition=models.Q(("price_per_kg__gte", 0), ("minimum_kg__gte", 0)),
            name="outside_service_figures",
            violation_error_message="A price and a minimum are zero or more.",
        ),
    ),
    migrations.AddConstraint(
        model_name="supplieritem",
        constraint=models.UniqueConstraint(fields=("supplier", "item"), name="supplier_item_once"),
    ),
    migrations.AddConstraint(
        model_name="supplieritem",
        constraint=models.CheckConstraint(
            condition=models.Q(("pack__gt", 0), ("price__gte", 0)), name="supplier_item_figures"
        ),
    ),
    migrations.AddConstraint(
        model_name="supplierprice",
        constraint=models.UniqueConstraint(
            fields=("sold", "from_quantity", "valid_from"), name="price_break_once_a_day"
        ),
    ),
    migrations.AddConstraint(
        model_name="supplierprice",
        constraint=models.CheckConstraint(
            condition=models.Q(("from_quantity__gt", 0), ("price__gte", 0)),
            name="price_break_figures",
            violation_error_message="A break needs a quantity above zero and a price of zero or more.",
        ),
    ),
    migrations.AddConstraint(
        model_name="supplierprice",
        constraint=models.CheckConstraint(
            condition=models.Q(
                ("valid_until__isnull", True),
                ("valid_until__gte", models.F("valid_from")),
                _connector="OR",
            ),
            name="price_break_ends_after_it_begins",
            violation_error_message="The last day lies before the first.",
        ),
    ),
    migrations.AddConstraint(
        model_name="supplierreturn",
        constraint=models.CheckConstraint(
            condition=models.Q(("quantity__gt", 0)), name="supplier_return_above_zero"
        ),
    ),
    migrations.AddConstraint(
        model_name="supplierreturn",
        constraint=models.CheckConstraint(
            condition=models.Q(("is_replaced", False), ("line__isnull", False), _connector="OR"),
            name="supplier_return_replaces_on_a_line",
        ),
    ),
]


class Migration(migrations.Migration):
    initial = True

    dependencies = [
        ("auth", "0012_alter_user_first_name_max_length"),
        ("bom", "0001_first"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        FirstTables(TABLES),
        migrations.RunPython(add_triggers, drop_triggers),
    ]
