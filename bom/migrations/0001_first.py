"""All tables at once: a new workshop is made without walking through the history of its tables."""

import django.contrib.auth.models
import django.contrib.auth.validators
import django.db.models.deletion
import django.db.models.functions.comparison
import django.utils.timezone
from decimal import Decimal
from django.conf import settings
from django.db import migrations, models

from bom.kernel.first_tables import FirstTables


TABLES = [
    migrations.CreateModel(
        name="Colour",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("code", models.SlugField(max_length=20, unique=True)),
            ("name", models.CharField(max_length=40)),
            (
                "swatch",
                models.CharField(help_text="How it is drawn on screen, as #rrggbb.", max_length=7),
            ),
            ("lightness", models.PositiveSmallIntegerField(default=50)),
        ],
        options={
            "ordering": ["name"],
        },
    ),
    migrations.CreateModel(
        name="Family",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("code", models.CharField(max_length=40, unique=True)),
            ("name", models.CharField(max_length=120)),
        ],
        options={
            "verbose_name_plural": "families",
            "ordering": ["code"],
        },
    ),
    migrations.CreateModel(
        name="LayerRule",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "name",
                models.CharField(
                    help_text="Capitals do not matter; * at the end for any rest.",
                    max_length=100,
                    unique=True,
                ),
            ),
            (
                "role",
                models.CharField(
                    choices=[
                        ("cut", "cut"),
                        ("mark", "mark"),
                        ("bend", "bend line"),
                        ("ignore", "ignore"),
                    ],
                    max_length=10,
                ),
            ),
        ],
        options={
            "ordering": ["name"],
        },
    ),
    migrations.CreateModel(
        name="OptionGroup",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("code", models.SlugField(max_length=30, unique=True)),
            ("name", models.CharField(max_length=80)),
            ("sequence", models.PositiveSmallIntegerField(default=0)),
            ("is_required", models.BooleanField(default=True)),
        ],
        options={
            "ordering": ["sequence", "code"],
        },
    ),
    migrations.CreateModel(
        name="Process",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("code", models.SlugField(max_length=20, unique=True)),
            ("name", models.CharField(max_length=40)),
            ("sequence", models.PositiveSmallIntegerField(unique=True)),
        ],
        options={
            "verbose_name_plural": "processes",
            "ordering": ["sequence"],
        },
    ),
    migrations.CreateModel(
        name="User",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("password", models.CharField(max_length=128, verbose_name="password")),
            ("last_login", models.DateTimeField(blank=True, null=True, verbose_name="last login")),
            (
                "is_superuser",
                models.BooleanField(
                    default=False,
                    help_text="Designates that this user has all permissions without explicitly assigning them.",
                    verbose_name="superuser status",
                ),
            ),
            (
                "username",
                models.CharField(
                    error_messages={"unique": "A user with that username already exists."},
                    help_text="Required. 150 characters or fewer. Letters, digits and @/./+/-/_ only.",
                    max_length=150,
                    unique=True,
                    validators=[django.contrib.auth.validators.UnicodeUsernameValidator()],
                    verbose_name="username",
                ),
            ),
            ("first_name", models.CharField(blank=True, max_length=150, verbose_name="first name")),
            ("last_name", models.CharField(blank=True, max_length=150, verbose_name="last name")),
            ("email", models.EmailField(blank=True, max_length=254, verbose_name="email address")),
            (
                "is_staff",
                models.BooleanField(
                    default=False,
                    help_text="Designates whether the user can log into this admin site.",
                    verbose_name="staff status",
                ),
            ),
            (
                "is_active",
                models.BooleanField(
                    default=True,
                    help_text="Designates whether this user should be treated as active. Unselect this instead of deleting accounts.",
                    verbose_name="active",
                ),
            ),
            (
                "date_joined",
                models.DateTimeField(default=django.utils.timezone.now, verbose_name="date joined"),
            ),
            (
                "groups",
                models.ManyToManyField(
                    blank=True,
                    help_text="The groups this user belongs to. A user will get all permissions granted to each of their groups.",
                    related_name="user_set",
                    related_query_name="user",
                    to="auth.group",
                    verbose_name="groups",
                ),
            ),
            (
                "user_permissions",
                models.ManyToManyField(
                    blank=True,
                    help_text="Specific permissions for this user.",
                    related_name="user_set",
                    related_query_name="user",
                    to="auth.permission",
                    verbose_name="user permissions",
                ),
            ),
        ],
        options={
            "verbose_name": "user",
            "verbose_name_plural": "users",
            "abstract": False,
        },
        managers=[
            ("objects", django.contrib.auth.models.UserManager()),
        ],
    ),
    migrations.CreateModel(
        name="BendValue",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("grade", models.CharField(blank=True, help_text="Empty for every grade.", max_length=20)),
            ("thickness_mm", models.DecimalField(decimal_places=2, max_digits=6)),
            ("inside_radius_mm", models.DecimalField(decimal_places=2, max_digits=6)),
            ("k_factor", models.DecimalField(decimal_places=4, max_digits=5)),
            ("die_opening_mm", models.DecimalField(decimal_places=1, max_digits=6)),
            ("least_flange_mm", models.DecimalField(decimal_places=1, max_digits=6)),
            ("source", models.CharField(max_length=200)),
        ],
        options={
            "ordering": ["thickness_mm", "grade"],
            "constraints": [
                models.UniqueConstraint(
                    fields=("grade", "thickness_mm"),
                    name="bend_value_once_a_thickness",
                    violation_error_message="This grade and thickness has a row already.",
                ),
                models.CheckConstraint(
                    condition=models.Q(
                        ("inside_radius_mm__gte", 0),
                        ("k_factor__gte", 0),
                        ("k_factor__lte", 1),
                        ("thickness_mm__gt", 0),
                        ("die_opening_mm__gt", 0),
                        ("least_flange_mm__gte", 0),
                    ),
                    name="bend_value_sensible",
                    violation_error_message="Thickness and die are above 0, radius and flange not below, K from 0 to 1.",
                ),
            ],
        },
    ),
    migrations.CreateModel(
        name="Entry",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("key", models.CharField(max_length=80, unique=True)),
            ("path", models.CharField(max_length=200)),
            (
                "digest",
                models.CharField(
                    help_text="Of what was entered: a key stands for one content only.", max_length=64
                ),
            ),
            ("said", models.CharField(blank=True, max_length=300)),
            ("goes_to", models.CharField(blank=True, max_length=200)),
            (
                "made_at",
                models.DateTimeField(
                    help_text="When the person entered it, by the time it waited on the device."
                ),
            ),
            ("received_at", models.DateTimeField(auto_now_add=True)),
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
            "verbose_name_plural": "entries",
            "ordering": ["-received_at", "-id"],
        },
    ),
    migrations.CreateModel(
        name="Item",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("code", models.CharField(max_length=40, unique=True)),
            ("name", models.CharField(max_length=120)),
            (
                "kind",
                models.CharField(
                    choices=[
                        ("bought", "bought"),
                        ("made", "made"),
                        ("sheet", "raw sheet"),
                        ("section", "raw section"),
                    ],
                    max_length=10,
                ),
            ),
            (
                "unit",
                models.CharField(
                    choices=[
                        ("pc", "piece"),
                        ("m", "metre"),
                        ("kg", "kilogram"),
                        ("l", "litre"),
                        ("set", "set"),
                    ],
                    default="pc",
                    max_length=4,
                ),
            ),
            (
                "hand",
                models.CharField(
                    blank=True,
                    choices=[("", "either"), ("L", "left"), ("R", "right")],
                    default="",
                    max_length=1,
                ),
            ),
            (
                "group",
                models.CharField(
                    blank=True, help_text="What stores call it: rollers, axles, fixings …", max_length=40
                ),
            ),
            ("mass_kg", models.DecimalField(decimal_places=4, default=Decimal("0"), max_digits=12)),
            ("surface_m2", models.DecimalField(decimal_places=5, default=Decimal("0"), max_digits=12)),
            ("grade", models.CharField(blank=True, help_text="Steel grade, e.g. S355.", max_length=20)),
            ("thickness_mm", models.DecimalField(blank=True, decimal_places=2, max_digits=6, null=True)),
            ("length_mm", models.DecimalField(blank=True, decimal_places=1, max_digits=10, null=True)),
            ("width_mm", models.DecimalField(blank=True, decimal_places=1, max_digits=10, null=True)),
            (
                "is_hollow",
                models.BooleanField(
                    default=False, help_text="Needs vent and drain holes before galvanising."
                ),
            ),
            (
                "is_phantom",
                models.BooleanField(
                    default=False, help_text="Never stocked: its parts go straight to what it is part of."
                ),
            ),
            (
                "lead_days",
                models.PositiveSmallIntegerField(
                    default=0, help_text="Working days to buy or to make one lot."
                ),
            ),
            (
                "lot_rule",
                models.CharField(
                    choices=[
                        ("as_needed", "as needed"),
                        ("fixed", "fixed quantity"),
                        ("multiple", "multiple of pack"),
                        ("minimum", "at least"),
                        ("periods", "days of need together"),
                        ("economic", "economic quantity"),
                        ("least_average", "least average cost"),
                        ("least_total", "least total cost"),
                    ],
                    default="as_needed",
                    max_length=14,
                ),
            ),
            ("lot_size", models.DecimalField(decimal_places=4, default=Decimal("0"), max_digits=14)),
            ("safety_stock", models.DecimalField(decimal_places=4, default=Decimal("0"), max_digits=14)),
            (
                "tracking",
                models.CharField(
                    choices=[
                        ("none", "counted only"),
                        ("lot", "by lot or cast"),
                        ("serial", "by serial number"),
                    ],
                    default="none",
                    max_length=6,
                ),
            ),
            ("standard_cost", models.DecimalField(decimal_places=4, default=Decimal("0"), max_digits=12)),
            ("is_active", models.BooleanField(default=True)),
            (
                "colour",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="items",
                    to="bom.colour",
                ),
            ),
            (
                "family",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="items",
                    to="bom.family",
                ),
            ),
        ],
        options={
            "ordering": ["code"],
            "permissions": [("import_item", "May bring items in from a workbook")],
        },
    ),
    migrations.CreateModel(
        name="FlatPart",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("grade", models.CharField(max_length=20)),
            ("thickness_mm", models.DecimalField(decimal_places=2, max_digits=6)),
            (
                "turning",
                models.CharField(
                    choices=[
                        ("quarters", "by quarter turns"),
                        ("half", "along the grain only (half turns)"),
                        ("free", "at any angle"),
                    ],
                    default="quarters",
                    max_length=10,
                ),
            ),
            ("may_mirror", models.BooleanField(default=False)),
            ("area_mm2", models.DecimalField(decimal_places=2, max_digits=14)),
            ("cut_length_mm", models.DecimalField(decimal_places=1, max_digits=12)),
            ("pierces", models.PositiveSmallIntegerField()),
            ("length_mm", models.DecimalField(decimal_places=1, max_digits=10)),
            ("width_mm", models.DecimalField(decimal_places=1, max_digits=10)),
            ("bends", models.PositiveSmallIntegerField(default=0)),
            (
                "drawn_at",
                models.DateTimeField(
                    blank=True,
                    help_text="When its outline last came from a file; a nest made before shows another.",
                    null=True,
                ),
            ),
            (
                "drawn_from",
                models.CharField(blank=True, help_text="The file it came from.", max_length=200),
            ),
            (
                "item",
                models.OneToOneField(
                    on_delete=django.db.models.deletion.CASCADE, related_name="flat_part", to="bom.item"
                ),
            ),
        ],
        options={
            "ordering": ["item"],
            "permissions": [("draw_part", "May change drawings, bends, sections and vent holes of parts")],
        },
    ),
    migrations.CreateModel(
        name="DrawingRead",
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
            ("file_name", models.CharField(max_length=200)),
            ("stored_as", models.CharField(max_length=200)),
            ("grade", models.CharField(max_length=20)),
            ("thickness_mm", models.DecimalField(decimal_places=2, max_digits=6)),
            (
                "unit_if_unstated",
                models.CharField(
                    blank=True,
                    choices=[("mm", "mm"), ("cm", "cm"), ("m", "m"), ("inch", "inch")],
                    max_length=5,
                ),
            ),
            ("unit", models.CharField(blank=True, max_length=5)),
            ("unit_is_stated", models.BooleanField(default=False)),
            ("is_whole", models.BooleanField(default=False)),
            ("flaw_count", models.PositiveIntegerField(default=0)),
            ("left_out", models.CharField(blank=True, max_length=200)),
            ("accepted_at", models.DateTimeField(blank=True, null=True)),
            (
                "accepted_by",
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
                    on_delete=django.db.models.deletion.SET_NULL,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="drawing_reads",
                    to="bom.item",
                ),
            ),
        ],
        options={
            "ordering": ["-pk"],
        },
    ),
    migrations.CreateModel(
        name="ComponentRating",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "kind",
                models.CharField(
                    choices=[
                        ("axle", "axle"),
                        ("wheel", "wheel"),
                        ("tyre", "tyre"),
                        ("coupling", "coupling"),
                    ],
                    max_length=8,
                ),
            ),
            (
                "capacity_kg",
                models.PositiveIntegerField(
                    blank=True,
                    help_text="Axle or wheel: mass it carries. Coupling: maximum mass of the trailer.",
                    null=True,
                ),
            ),
            (
                "is_braked",
                models.BooleanField(
                    default=False, help_text="Axle: it has brakes. Coupling: it works overrun brakes."
                ),
            ),
            ("load_index", models.PositiveSmallIntegerField(blank=True, null=True)),
            ("speed_symbol", models.CharField(blank=True, max_length=2)),
            ("dc_kn", models.DecimalField(blank=True, decimal_places=2, max_digits=6, null=True)),
            ("s_kg", models.PositiveSmallIntegerField(blank=True, null=True)),
            (
                "item",
                models.OneToOneField(
                    on_delete=django.db.models.deletion.CASCADE, related_name="rating", to="bom.item"
                ),
            ),
        ],
        options={
            "ordering": ["kind", "item"],
        },
    ),
    migrations.CreateModel(
        name="ItemDuty",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "duty",
                models.CharField(
                    choices=[
                        ("front_lamp", "front position lamp"),
                        ("outline_lamp", "end-outline marker lamp"),
                        ("side_lamp", "side marker lamp"),
                        ("rear_lamp", "rear position, stop and direction lamp"),
                        ("fog_lamp", "rear fog lamp"),
                        ("reversing_lamp", "reversing lamp"),
                        ("plate_lamp", "number plate lamp"),
                        ("triangle", "rear reflector, triangle"),
                        ("side_reflector", "side reflector"),
                        ("front_reflector", "front reflector"),
                        ("board", "removable light board"),
                        ("breakaway", "breakaway cable"),
                        ("secondary", "secondary coupling"),
                    ],
                    max_length=16,
                ),
            ),
            (
                "count",
                models.PositiveSmallIntegerField(default=1, help_text="How many one piece counts for."),
            ),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE, related_name="duties", to="bom.item"
                ),
            ),
        ],
        options={
            "verbose_name_plural": "item duties",
            "ordering": ["item", "duty"],
        },
    ),
    migrations.CreateModel(
        name="ItemIdentifier",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "kind",
                models.CharField(
                    choices=[
                        ("gtin", "GTIN"),
                        ("supplier", "supplier's code"),
                        ("maker", "maker's code"),
                        ("former", "former code of ours"),
                    ],
                    max_length=10,
                ),
            ),
            ("code", models.CharField(help_text="A GTIN is kept with its 14 digits.", max_length=60)),
            ("holds", models.DecimalField(decimal_places=4, default=Decimal("1"), max_digits=14)),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE, related_name="identifiers", to="bom.item"
                ),
            ),
        ],
        options={
            "ordering": ["item", "kind", "code"],
        },
    ),
    migrations.CreateModel(
        name="Market",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("code", models.CharField(max_length=8, unique=True)),
            ("name", models.CharField(max_length=80)),
            (
                "is_default",
                models.BooleanField(default=False, help_text="Taken where an order names no market."),
            ),
        ],
        options={
            "ordering": ["code"],
            "constraints": [
                models.UniqueConstraint(
                    condition=models.Q(("is_default", True)),
                    fields=("is_default",),
                    name="market_one_default",
                    violation_error_message="Another market is the default already.",
                )
            ],
        },
    ),
    migrations.CreateModel(
        name="OptionChoice",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("code", models.SlugField(max_length=30)),
            ("name", models.CharField(max_length=80)),
            ("sequence", models.PositiveSmallIntegerField(default=0)),
            (
                "group",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="choices",
                    to="bom.optiongroup",
                ),
            ),
        ],
        options={
            "ordering": ["group", "sequence", "code"],
        },
    ),
    migrations.CreateModel(
        name="ReadCurve",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("sequence", models.PositiveSmallIntegerField()),
            ("kind", models.CharField(max_length=20)),
            ("layer", models.CharField(max_length=255)),
            ("handle", models.CharField(blank=True, max_length=40)),
            ("x_mm", models.FloatField()),
            ("y_mm", models.FloatField()),
            ("chords", models.PositiveIntegerField()),
            (
                "read",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="curves",
                    to="bom.drawingread",
                ),
            ),
        ],
        options={
            "ordering": ["read", "sequence"],
        },
    ),
    migrations.CreateModel(
        name="ReadFlaw",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("sequence", models.PositiveIntegerField()),
            ("what", models.CharField(max_length=300)),
            ("mend", models.CharField(max_length=300)),
            ("layer", models.CharField(blank=True, max_length=255)),
            ("handle", models.CharField(blank=True, max_length=40)),
            ("x_mm", models.FloatField(blank=True, null=True)),
            ("y_mm", models.FloatField(blank=True, null=True)),
            (
                "read",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="flaws",
                    to="bom.drawingread",
                ),
            ),
        ],
        options={
            "ordering": ["read", "sequence"],
        },
    ),
    migrations.CreateModel(
        name="ReadLayer",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("name", models.CharField(max_length=255)),
            ("entities", models.PositiveIntegerField()),
            (
                "role",
                models.CharField(
                    blank=True,
                    choices=[
                        ("cut", "cut"),
                        ("mark", "mark"),
                        ("bend", "bend line"),
                        ("ignore", "ignore"),
                    ],
                    max_length=10,
                ),
            ),
            (
                "read",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="layers",
                    to="bom.drawingread",
                ),
            ),
        ],
        options={
            "ordering": ["read", "name"],
        },
    ),
    migrations.CreateModel(
        name="ReadPath",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("sequence", models.PositiveIntegerField()),
            (
                "use",
                models.CharField(
                    choices=[
                        ("outside", "outside"),
                        ("hole", "hole"),
                        ("mark", "mark"),
                        ("bend", "bend line"),
                        ("loose", "part of no contour"),
                    ],
                    max_length=10,
                ),
            ),
            ("layer", models.CharField(max_length=255)),
            ("handle", models.CharField(blank=True, max_length=40)),
            ("vertices", models.TextField()),
            ("is_closed", models.BooleanField()),
            (
                "read",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="paths",
                    to="bom.drawingread",
                ),
            ),
        ],
        options={
            "ordering": ["read", "sequence"],
        },
    ),
    migrations.CreateModel(
        name="Revision",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("letter", models.CharField(max_length=4)),
            (
                "state",
                models.CharField(
                    choices=[("draft", "draft"), ("released", "released")], default="draft", max_length=10
                ),
            ),
            ("effective_from", models.DateField()),
            ("note", models.CharField(blank=True, max_length=200)),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE, related_name="revisions", to="bom.item"
                ),
            ),
        ],
        options={
            "ordering": ["item", "-effective_from", "-letter"],
            "permissions": [("release_revision", "May release a revision of a bill")],
        },
    ),
    migrations.CreateModel(
        name="Operation",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("sequence", models.PositiveSmallIntegerField()),
            ("setup_minutes", models.DecimalField(decimal_places=2, default=Decimal("0"), max_digits=8)),
            ("run_minutes", models.DecimalField(decimal_places=4, default=Decimal("0"), max_digits=10)),
            (
                "basis",
                models.CharField(
                    choices=[
                        ("standard", "standard time"),
                        ("geometry", "from the drawing"),
                        ("measured", "measured on the floor"),
                    ],
                    default="standard",
                    max_length=10,
                ),
            ),
            ("note", models.CharField(blank=True, max_length=200)),
            (
                "process",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="operations",
                    to="bom.process",
                ),
            ),
            (
                "revision",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="operations",
                    to="bom.revision",
                ),
            ),
        ],
        options={
            "ordering": ["revision", "sequence"],
        },
    ),
    migrations.CreateModel(
        name="BillLine",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("position", models.PositiveSmallIntegerField()),
            (
                "colour_of",
                models.CharField(blank=True, help_text="For a family: e.g. colour.port", max_length=120),
            ),
            ("hand_of", models.CharField(blank=True, help_text="For a family: e.g. 'L'", max_length=120)),
            ("quantity", models.CharField(default="1", max_length=200)),
            ("condition", models.CharField(blank=True, max_length=300)),
            ("note", models.CharField(blank=True, max_length=120)),
            (
                "centre_x_mm",
                models.DecimalField(
                    blank=True,
                    decimal_places=1,
                    help_text="Behind the coupling's centre.",
                    max_digits=8,
                    null=True,
                ),
            ),
            (
                "centre_y_mm",
                models.DecimalField(
                    blank=True,
                    decimal_places=1,
                    help_text="To the right of the middle plane.",
                    max_digits=8,
                    null=True,
                ),
            ),
            (
                "centre_z_mm",
                models.DecimalField(
                    blank=True, decimal_places=1, help_text="Above the road.", max_digits=8, null=True
                ),
            ),
            (
                "centre_basis",
                models.CharField(
                    blank=True,
                    choices=[
                        ("measured", "measured"),
                        ("drawn", "from the drawing"),
                        ("estimated", "estimated"),
                    ],
                    max_length=10,
                ),
            ),
            (
                "family",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="used_in_lines",
                    to="bom.family",
                ),
            ),
            (
                "component",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="used_in_lines",
                    to="bom.item",
                ),
            ),
            (
                "revision",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE, related_name="lines", to="bom.revision"
                ),
            ),
        ],
        options={
            "ordering": ["revision", "position"],
        },
    ),
    migrations.CreateModel(
        name="RuleIssue",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("number", models.PositiveIntegerField(unique=True)),
            ("made_at", models.DateTimeField(auto_now_add=True)),
            ("why", models.CharField(max_length=200)),
            (
                "made_by",
                models.ForeignKey(
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
        ],
        options={
            "ordering": ["-number"],
        },
    ),
    migrations.CreateModel(
        name="RuleRow",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "subject",
                models.CharField(
                    choices=[
                        ("category_mass", "Mass that decides the category"),
                        ("o1_most_kg", "Category O1, up to"),
                        ("o2_most_kg", "Category O2, up to"),
                        ("brakes_kg", "Service brakes"),
                        (
                            "unbraked_vehicle_share",
                            "Unbraked trailer, share of the vehicle's unladen mass, at most",
                        ),
                        ("secondary_most_kg", "Secondary coupling instead of automatic braking, up to"),
                        ("nose_least_share", "Least nose load, share of the actual mass"),
                        ("nose_least_cap_kg", "Least nose load, never asked for more than"),
                        ("nose_most_share", "Most nose load, share of the maximum mass"),
                        ("nose_most_kn", "Most nose load, force"),
                        ("gravity", "Acceleration put into D and Dc"),
                        ("width_most_mm", "Overall width, at most"),
                        ("length_as", "Length that the limit means"),
                        ("length_most_mm", "Length, at most"),
                        ("length_heavy_most_mm", "Length behind a heavier vehicle, at most"),
                        ("heavy_vehicle_kg", "A vehicle is a heavier one"),
                        ("front_lamps_mm", "Front position lamps, width"),
                        ("outline_lamps_mm", "End-outline marker lamps, width"),
                        ("side_lamps_mm", "Side marker lamps, length"),
                        ("side_lamps_as", "Length that side marker lamps go by"),
                        ("side_lamps_boats", "Side marker lamps on boat trailers"),
                        ("side_lamps_gap_mm", "Side marker lamps, foremost and gap at most"),
                        ("reversing_lamp_kg", "Reversing lamp"),
                        ("fog_lamp_mm", "Rear fog lamp, width"),
                        ("board_allowed", "Lamps on a removable board"),
                        ("tyre_speed_kmh", "Tyres good for at least"),
                        ("vehicle_assumed_kg", "Towing vehicle assumed where none is given"),
                        ("nose_wanted_share", "Nose load to set up for, share of the laden mass"),
                        (
                            "centre_assumed_share",
                            "Centre of gravity where none is given, from the transom, share of bow to transom",
                        ),
                        ("rear_support_share", "Share of the hull on its rear supports"),
                        ("slot_step_mm", "Axle and post are set in steps of"),
                    ],
                    max_length=30,
                ),
            ),
            ("value", models.DecimalField(blank=True, decimal_places=4, max_digits=12, null=True)),
            ("word", models.CharField(blank=True, max_length=20)),
            (
                "edge",
                models.CharField(
                    blank=True,
                    choices=[
                        ("", "a limit or a figure"),
                        ("over", "over the figure; equal is still let off"),
                        ("from", "from the figure on; equal counts"),
                    ],
                    default="",
                    max_length=4,
                ),
            ),
            ("clause", models.CharField(max_length=160)),
            ("source", models.CharField(max_length=200)),
            ("valid_from", models.DateField()),
            ("is_withdrawn", models.BooleanField(default=False)),
            ("verified_on", models.DateField(blank=True, null=True)),
            (
                "issue",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="rows", to="bom.ruleissue"
                ),
            ),
            (
                "market",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name="rules", to="bom.market"
                ),
            ),
            (
                "verified_by",
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
            "ordering": ["market", "subject", "-issue"],
            "permissions": [("change_rules", "May change the rules of ratings")],
        },
    ),
    migrations.CreateModel(
        name="SawnEnds",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("first_deg", models.DecimalField(decimal_places=1, default=0, max_digits=4)),
            ("second_deg", models.DecimalField(decimal_places=1, default=0, max_digits=4)),
            ("slant_alike", models.BooleanField(default=False)),
            (
                "item",
                models.OneToOneField(
                    on_delete=django.db.models.deletion.CASCADE, related_name="sawn_ends", to="bom.item"
                ),
            ),
        ],
        options={
            "verbose_name_plural": "sawn ends",
            "ordering": ["item"],
        },
    ),
    migrations.CreateModel(
        name="SectionProfile",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "standard",
                models.CharField(
                    choices=[
                        ("en_10219", "EN 10219-2, cold formed hollow sections"),
                        ("en_10210", "EN 10210-2, hot finished hollow sections"),
                        ("en_10058", "EN 10058, flat bars"),
                        ("en_10056", "EN 10056-1, angles (formula from memory)"),
                    ],
                    max_length=10,
                ),
            ),
            ("height_mm", models.DecimalField(decimal_places=2, max_digits=7)),
            (
                "breadth_mm",
                models.DecimalField(
                    decimal_places=2, default=0, help_text="0 for round and flat.", max_digits=7
                ),
            ),
            ("wall_mm", models.DecimalField(decimal_places=2, max_digits=6)),
            (
                "root_radius_mm",
                models.DecimalField(decimal_places=2, default=0, help_text="Angles only.", max_digits=6),
            ),
            (
                "item",
                models.OneToOneField(
                    on_delete=django.db.models.deletion.CASCADE, related_name="section", to="bom.item"
                ),
            ),
        ],
        options={
            "ordering": ["item"],
        },
    ),
    migrations.CreateModel(
        name="TrailerModel",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("code", models.CharField(max_length=20, unique=True)),
            ("name", models.CharField(max_length=80)),
            ("max_mass_kg", models.PositiveIntegerField()),
            ("axles", models.PositiveSmallIntegerField(default=1)),
            ("braked", models.BooleanField(default=False)),
            (
                "own_mass_kg",
                models.PositiveIntegerField(help_text="Mass of the standard trailer without load."),
            ),
            ("length_mm", models.PositiveIntegerField()),
            ("width_mm", models.PositiveIntegerField()),
            ("hull_length_min_mm", models.PositiveIntegerField()),
            ("hull_length_max_mm", models.PositiveIntegerField()),
            ("base_price", models.DecimalField(decimal_places=2, default=Decimal("0"), max_digits=10)),
            ("is_active", models.BooleanField(default=True)),
            (
                "item",
                models.OneToOneField(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="trailer_model",
                    to="bom.item",
                ),
            ),
        ],
        options={
            "ordering": ["max_mass_kg", "code"],
        },
    ),
    migrations.CreateModel(
        name="OptionRule",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("when", models.CharField(max_length=300)),
            ("then", models.CharField(max_length=300)),
            (
                "sentence",
                models.CharField(help_text="Why it is so, said to the order desk.", max_length=200),
            ),
            (
                "model",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="rules",
                    to="bom.trailermodel",
                ),
            ),
        ],
        options={
            "ordering": ["id"],
        },
    ),
    migrations.CreateModel(
        name="ModelOption",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("is_default", models.BooleanField(default=False)),
            ("price", models.DecimalField(decimal_places=2, default=Decimal("0"), max_digits=10)),
            (
                "choice",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="offers",
                    to="bom.optionchoice",
                ),
            ),
            (
                "model",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="options",
                    to="bom.trailermodel",
                ),
            ),
        ],
        options={
            "ordering": ["model", "choice"],
        },
    ),
    migrations.CreateModel(
        name="ModelFrame",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "springs",
                models.CharField(
                    choices=[
                        ("single", "one axle"),
                        ("apart", "each axle on rubber of its own"),
                        ("linked", "two axles on linked springs"),
                    ],
                    default="single",
                    max_length=8,
                ),
            ),
            (
                "spread_mm",
                models.PositiveIntegerField(default=0, help_text="Between the axles of a twin set."),
            ),
            ("drawbar_mm", models.PositiveIntegerField()),
            ("body_at_mm", models.PositiveIntegerField()),
            ("axle_from_mm", models.PositiveIntegerField()),
            ("axle_to_mm", models.PositiveIntegerField()),
            ("post_from_mm", models.PositiveIntegerField()),
            ("post_to_mm", models.PositiveIntegerField()),
            ("bow_behind_post_mm", models.PositiveIntegerField(default=150)),
            ("front_support_from_mm", models.PositiveIntegerField()),
            ("rear_support_mm", models.PositiveIntegerField()),
            ("transom_before_mm", models.PositiveIntegerField(default=0)),
            ("transom_beyond_mm", models.PositiveIntegerField(default=0)),
            (
                "is_measured",
                models.BooleanField(default=False, help_text="Centre of gravity weighed, not estimated."),
            ),
            (
                "model",
                models.OneToOneField(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="frame",
                    to="bom.trailermodel",
                ),
            ),
        ],
        options={
            "ordering": ["model"],
        },
    ),
    migrations.CreateModel(
        name="ModelFinish",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
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
            ("price", models.DecimalField(decimal_places=2, default=Decimal("0"), max_digits=10)),
            (
                "model",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="finishes",
                    to="bom.trailermodel",
                ),
            ),
        ],
        options={
            "ordering": ["model", "finish"],
        },
    ),
    migrations.CreateModel(
        name="Variant",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("code", models.SlugField(max_length=40)),
            ("version", models.PositiveSmallIntegerField(default=1)),
            ("is_current", models.BooleanField(default=True)),
            ("made_at", models.DateTimeField(default=django.utils.timezone.now)),
            (
                "note",
                models.CharField(blank=True, help_text="What this version changed, and why.", max_length=200),
            ),
            ("name", models.CharField(max_length=120)),
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
            ("price", models.DecimalField(blank=True, decimal_places=2, max_digits=10, null=True)),
            (
                "made_by",
                models.ForeignKey(
                    blank=True,
                    null=True,
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="+",
                    to=settings.AUTH_USER_MODEL,
                ),
            ),
            (
                "model",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT,
                    related_name="variants",
                    to="bom.trailermodel",
                ),
            ),
        ],
        options={
            "ordering": ["code", "-version"],
        },
    ),
    migrations.CreateModel(
        name="VariantChoice",
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
                "variant",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE, related_name="choices", to="bom.variant"
                ),
            ),
        ],
        options={
            "ordering": ["variant", "choice"],
        },
    ),
    migrations.CreateModel(
        name="VariantColour",
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
                "variant",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE, related_name="colours", to="bom.variant"
                ),
            ),
        ],
        options={
            "ordering": ["variant", "place"],
        },
    ),
    migrations.CreateModel(
        name="VentHole",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("end", models.PositiveSmallIntegerField(choices=[(1, "end 1"), (2, "end 2")])),
            (
                "purpose",
                models.CharField(
                    choices=[("vent", "vent (high when dipped)"), ("drain", "drain (low when dipped)")],
                    default="vent",
                    max_length=5,
                ),
            ),
            ("diameter_mm", models.DecimalField(decimal_places=2, max_digits=6)),
            ("count", models.PositiveSmallIntegerField(default=1)),
            (
                "item",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE, related_name="vent_holes", to="bom.item"
                ),
            ),
        ],
        options={
            "ordering": ["item", "end", "-diameter_mm"],
        },
    ),
    migrations.CreateModel(
        name="VentNote",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("ends_stay_open", models.BooleanField(default=False)),
            (
                "outcome",
                models.CharField(
                    blank=True,
                    choices=[("", "not judged"), ("met", "met"), ("not_met", "not met")],
                    default="",
                    max_length=10,
                ),
            ),
            ("reason", models.CharField(blank=True, max_length=200)),
            ("at", models.DateTimeField(auto_now=True)),
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
                models.OneToOneField(
                    on_delete=django.db.models.deletion.CASCADE, related_name="vent_note", to="bom.item"
                ),
            ),
        ],
        options={
            "ordering": ["item"],
        },
    ),
    migrations.CreateModel(
        name="FlatMark",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("sequence", models.PositiveSmallIntegerField()),
            ("vertices", models.TextField()),
            ("is_closed", models.BooleanField(default=False)),
            (
                "part",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE, related_name="marks", to="bom.flatpart"
                ),
            ),
        ],
        options={
            "ordering": ["part", "sequence"],
            "constraints": [
                models.UniqueConstraint(fields=("part", "sequence"), name="mark_sequence_once_a_part")
            ],
        },
    ),
    migrations.CreateModel(
        name="FlatContour",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("sequence", models.PositiveSmallIntegerField()),
            ("vertices", models.TextField()),
            (
                "part",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="contours",
                    to="bom.flatpart",
                ),
            ),
        ],
        options={
            "ordering": ["part", "sequence"],
            "constraints": [
                models.UniqueConstraint(fields=("part", "sequence"), name="contour_sequence_once_a_part")
            ],
        },
    ),
    migrations.CreateModel(
        name="FoldLine",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            ("sequence", models.PositiveSmallIntegerField()),
            ("x1_mm", models.DecimalField(decimal_places=3, max_digits=10)),
            ("y1_mm", models.DecimalField(decimal_places=3, max_digits=10)),
            ("x2_mm", models.DecimalField(decimal_places=3, max_digits=10)),
            ("y2_mm", models.DecimalField(decimal_places=3, max_digits=10)),
            ("angle_deg", models.DecimalField(decimal_places=2, default=90, max_digits=5)),
            ("inside_radius_mm", models.DecimalField(decimal_places=2, max_digits=6)),
            (
                "direction",
                models.CharField(
                    choices=[("up", "up, towards the person"), ("down", "down, away from the person")],
                    default="up",
                    max_length=4,
                ),
            ),
            (
                "part",
                models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE,
                    related_name="fold_lines",
                    to="bom.flatpart",
                ),
            ),
        ],
        options={
            "ordering": ["part", "sequence"],
            "constraints": [
                models.UniqueConstraint(fields=("part", "sequence"), name="fold_line_sequence_once_a_part"),
                models.CheckConstraint(
                    condition=models.Q(
                        ("angle_deg__gt", 0), ("angle_deg__lt", 180), ("inside_radius_mm__gte", 0)
                    ),
                    name="fold_line_angle_and_radius",
                    violation_error_message="A bend turns by more than 0° and less than 180°, about a radius of 0 or more.",
                ),
                models.CheckConstraint(
                    condition=models.Q(
                        ("x1_mm", models.F("x2_mm")), ("y1_mm", models.F("y2_mm")), _negated=True
                    ),
                    name="fold_line_has_length",
                    violation_error_message="A bend line joins two different points.",
                ),
            ],
        },
    ),
    migrations.CreateModel(
        name="HouseRule",
        fields=[
            (
                "id",
                models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"),
            ),
            (
                "bend_rule",
                models.CharField(
                    choices=[("k_factor", "K factor"), ("din_6935", "DIN 6935")],
                    default="k_factor",
                    max_length=20,
                ),
            ),
            (
                "vent_rule",
                models.CharField(
                    choices=[
                        ("quarter_diagonal", "a quarter of the diagonal"),
                        ("table_of_holes", "table of holes by section"),
                    ],
                    default="quarter_diagonal",
                    max_length=20,
                ),
            ),
            ("changed_at", models.DateTimeField(auto_now=True)),
            (
                "changed_by",
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
            "permissions": [("set_geometry_rule", "May choose bend and vent rules and change their tables")],
            "constraints": [
                models.CheckConstraint(condition=models.Q(("pk", 1)), name="house_rule_is_one_row")
            ],
        },
    ),
    migrations.AddIndex(
        model_name="item",
        index=models.Index(fields=["group", "code"], name="item_group_code"),
    ),
    migrations.AddConstraint(
        model_name="item",
        constraint=models.UniqueConstraint(
            models.F("family"),
            django.db.models.functions.comparison.Coalesce("colour", 0),
            models.F("hand"),
            condition=models.Q(("family__isnull", False)),
            name="item_one_of_family_colour_hand",
            violation_error_message="This family already has an item of that colour and hand.",
        ),
    ),
    migrations.AddConstraint(
        model_name="item",
        constraint=models.CheckConstraint(
            condition=models.Q(("mass_kg__gte", 0), ("surface_m2__gte", 0), ("standard_cost__gte", 0)),
            name="item_figures_not_negative",
            violation_error_message="Mass, surface and cost cannot be negative.",
        ),
    ),
    migrations.AddConstraint(
        model_name="item",
        constraint=models.CheckConstraint(
            condition=models.Q(("lot_size__gte", 0), ("safety_stock__gte", 0)),
            name="item_lot_not_negative",
            violation_error_message="Lot size and safety stock cannot be negative.",
        ),
    ),
    migrations.AddConstraint(
        model_name="item",
        constraint=models.CheckConstraint(
            condition=models.Q(
                models.Q(("lot_rule__in", ["fixed", "multiple", "minimum", "periods"]), _negated=True),
                ("lot_size__gt", 0),
                _connector="OR",
            ),
            name="item_lot_rule_has_size",
            violation_error_message="This lot rule needs a lot size above zero.",
        ),
    ),
    migrations.AddConstraint(
        model_name="item",
        constraint=models.CheckConstraint(
            condition=models.Q(
                models.Q(("kind", "sheet"), _negated=True),
                models.Q(
                    ("thickness_mm__gt", 0),
                    ("length_mm__gt", 0),
                    ("width_mm__gt", 0),
                    models.Q(("grade", ""), _negated=True),
                ),
                _connector="OR",
            ),
            name="item_sheet_has_size",
            violation_error_message="A raw sheet needs a grade, thickness, length and width.",
        ),
    ),
    migrations.AddConstraint(
        model_name="componentrating",
        constraint=models.CheckConstraint(
            condition=models.Q(
                models.Q(("kind__in", ["axle", "wheel"]), _negated=True),
                models.Q(("capacity_kg__gt", 0), ("capacity_kg__isnull", False)),
                _connector="OR",
            ),
            name="rating_axle_has_capacity",
            violation_error_message="An axle or a wheel needs the mass it carries.",
        ),
    ),
    migrations.AddConstraint(
        model_name="componentrating",
        constraint=models.CheckConstraint(
            condition=models.Q(
                models.Q(("kind", "tyre"), _negated=True), ("load_index__isnull", False), _connector="OR"
            ),
            name="rating_tyre_has_index",
            violation_error_message="A tyre needs its load index.",
        ),
    ),
    migrations.AddConstraint(
        model_name="itemduty",
        constraint=models.UniqueConstraint(fields=("item", "duty"), name="duty_once_an_item"),
    ),
    migrations.AddIndex(
        model_name="itemidentifier",
        index=models.Index(fields=["code"], name="identifier_code"),
    ),
    migrations.AddConstraint(
        model_name="itemidentifier",
        constraint=models.UniqueConstraint(fields=("kind", "code", "item"), name="identifier_once_an_item"),
    ),
    migrations.AddConstraint(
        model_name="itemidentifier",
        constraint=models.UniqueConstraint(
            condition=models.Q(("kind", "gtin")),
            fields=("code",),
            name="identifier_gtin_once",
            violation_error_message="This GTIN already belongs to an item.",
        ),
    ),
    migrations.AddConstraint(
        model_name="itemidentifier",
        constraint=models.CheckConstraint(
            condition=models.Q(("holds__gt", 0)),
            name="identifier_holds_above_zero",
            violation_error_message="One thing with this number must hold more than nothing.",
        ),
    ),
    migrations.AddConstraint(
        model_name="optionchoice",
        constraint=models.UniqueConstraint(fields=("group", "code"), name="choice_code_once_a_group"),
    ),
    migrations.AddConstraint(
        model_name="readcurve",
        constraint=models.UniqueConstraint(fields=("read", "sequence"), name="read_curve_sequence_once"),
    ),
    migrations.AddConstraint(
        model_name="readflaw",
        constraint=models.UniqueConstraint(fields=("read", "sequence"), name="read_flaw_sequence_once"),
    ),
    migrations.AddConstraint(
        model_name="readlayer",
        constraint=models.UniqueConstraint(fields=("read", "name"), name="read_layer_once"),
    ),
    migrations.AddConstraint(
        model_name="readpath",
        constraint=models.UniqueConstraint(fields=("read", "sequence"), name="read_path_sequence_once"),
    ),
    migrations.AddConstraint(
        model_name="revision",
        constraint=models.UniqueConstraint(
            fields=("item", "letter"),
            name="revision_letter_once_an_item",
            violation_error_message="This item already has a revision of that letter.",
        ),
    ),
    migrations.AddConstraint(
        model_name="operation",
        constraint=models.UniqueConstraint(
            fields=("revision", "sequence"), name="operation_sequence_once_a_revision"
        ),
    ),
    migrations.AddConstraint(
        model_name="operation",
        constraint=models.CheckConstraint(
            condition=models.Q(("setup_minutes__gte", 0), ("run_minutes__gte", 0)),
            name="operation_minutes_not_negative",
            violation_error_message="Minutes cannot be negative.",
        ),
    ),
    migrations.AddConstraint(
        model_name="billline",
        constraint=models.UniqueConstraint(
            fields=("revision", "position"),
            name="bill_position_once_a_revision",
            violation_error_message="This revision already has a line at that position.",
        ),
    ),
    migrations.AddConstraint(
        model_name="billline",
        constraint=models.CheckConstraint(
            condition=models.Q(
                models.Q(("component__isnull", False), ("family__isnull", True)),
                models.Q(("component__isnull", True), ("family__isnull", False)),
                _connector="OR",
            ),
            name="bill_line_component_or_family",
            violation_error_message="A line names either a component or a family, not both and not neither.",
        ),
    ),
    migrations.AddConstraint(
        model_name="billline",
        constraint=models.CheckConstraint(
            condition=models.Q(
                models.Q(
                    ("centre_basis__gt", ""),
                    ("centre_x_mm__isnull", False),
                    ("centre_y_mm__isnull", False),
                    ("centre_z_mm__isnull", False),
                ),
                models.Q(
                    ("centre_basis", ""),
                    ("centre_x_mm__isnull", True),
                    ("centre_y_mm__isnull", True),
                    ("centre_z_mm__isnull", True),
                ),
                _connector="OR",
            ),
            name="bill_line_centre_whole",
            violation_error_message="A centre of gravity has x, y, z and how it is known, or none of them.",
        ),
    ),
    migrations.AddConstraint(
        model_name="rulerow",
        constraint=models.UniqueConstraint(fields=("issue", "market", "subject"), name="rule_once_an_issue"),
    ),
    migrations.AddConstraint(
        model_name="rulerow",
        constraint=models.CheckConstraint(
            condition=models.Q(
                ("value__isnull", False),
                models.Q(("word", ""), _negated=True),
                ("is_withdrawn", True),
                _connector="OR",
            ),
            name="rule_has_an_answer",
            violation_error_message="A rule needs a figure or a word.",
        ),
    ),
    migrations.AddConstraint(
        model_name="rulerow",
        constraint=models.CheckConstraint(
            condition=models.Q(
                models.Q(("verified_by__isnull", True), ("verified_on__isnull", True)),
                models.Q(("verified_by__isnull", False), ("verified_on__isnull", False)),
                _connector="OR",
            ),
            name="rule_verified_by_somebody",
            violation_error_message="Say who verified it and when, or neither.",
        ),
    ),
    migrations.AddConstraint(
        model_name="sawnends",
        constraint=models.CheckConstraint(
            condition=models.Q(
                ("first_deg__gte", 0),
                ("first_deg__lte", 60),
                ("second_deg__gte", 0),
                ("second_deg__lte", 60),
            ),
            name="sawn_ends_within_the_saw",
            violation_error_message="The saw swings from 0° to 60° off square.",
        ),
    ),
    migrations.AddConstraint(
        model_name="sectionprofile",
        constraint=models.CheckConstraint(
            condition=models.Q(
                ("breadth_mm__gte", 0),
                ("height_mm__gt", 0),
                ("root_radius_mm__gte", 0),
                ("wall_mm__gt", 0),
            ),
            name="section_dimensions_above_zero",
            violation_error_message="Height and wall are above 0.",
        ),
    ),
    migrations.AddConstraint(
        model_name="trailermodel",
        constraint=models.CheckConstraint(
            condition=models.Q(("hull_length_min_mm__lte", models.F("hull_length_max_mm"))),
            name="model_hull_length_range",
            violation_error_message="The shortest hull cannot be longer than the longest.",
        ),
    ),
    migrations.AddConstraint(
        model_name="modeloption",
        constraint=models.UniqueConstraint(fields=("model", "choice"), name="choice_once_a_model"),
    ),
    migrations.AddConstraint(
        model_name="modelframe",
        constraint=models.CheckConstraint(
            condition=models.Q(("axle_from_mm__gt", 0), ("axle_from_mm__lte", models.F("axle_to_mm"))),
            name="frame_axle_slots",
            violation_error_message="The axle slots end before they begin.",
        ),
    ),
    migrations.AddConstraint(
        model_name="modelframe",
        constraint=models.CheckConstraint(
            condition=models.Q(("post_from_mm__lte", models.F("post_to_mm"))),
            name="frame_post_range",
            violation_error_message="The range of the winch post ends before it begins.",
        ),
    ),
    migrations.AddConstraint(
        model_name="modelframe",
        constraint=models.CheckConstraint(
            condition=models.Q(
                models.Q(("spread_mm", 0), ("springs", "single")),
                models.Q(models.Q(("springs", "single"), _negated=True), ("spread_mm__gt", 0)),
                _connector="OR",
            ),
            name="frame_twin_has_spread",
            violation_error_message="Two axles need their distance; one axle has none.",
        ),
    ),
    migrations.AddConstraint(
        model_name="modelfinish",
        constraint=models.UniqueConstraint(fields=("model", "finish"), name="finish_once_a_model"),
    ),
    migrations.AddConstraint(
        model_name="variant",
        constraint=models.UniqueConstraint(fields=("code", "version"), name="variant_version_once"),
    ),
    migrations.AddConstraint(
        model_name="variant",
        constraint=models.UniqueConstraint(
            condition=models.Q(("is_current", True)),
            fields=("code",),
            name="variant_one_current",
            violation_error_message="Another version of this variant is the current one.",
        ),
    ),
    migrations.AddConstraint(
        model_name="variantchoice",
        constraint=models.UniqueConstraint(fields=("variant", "choice"), name="choice_once_a_variant"),
    ),
    migrations.AddConstraint(
        model_name="variantcolour",
        constraint=models.UniqueConstraint(fields=("variant", "place"), name="place_once_a_variant"),
    ),
    migrations.AddConstraint(
        model_name="venthole",
        constraint=models.CheckConstraint(
            condition=models.Q(("count__gt", 0), ("diameter_mm__gt", 0), ("end__in", [1, 2])),
            name="vent_hole_sensible",
            violation_error_message="A hole has a diameter above 0 and is at end 1 or 2.",
        ),
    ),
    migrations.AddConstraint(
        model_name="ventnote",
        constraint=models.CheckConstraint(
            condition=models.Q(("outcome", ""), models.Q(("reason", ""), _negated=True), _connector="OR"),
            name="vent_judgement_has_a_reason",
            violation_error_message="A judgement needs its reason.",
        ),
    ),
]


class Migration(migrations.Migration):
    initial = True

    dependencies = [
        ("auth", "0012_alter_user_first_name_max_length"),
    ]

    operations = [
        FirstTables(TABLES),
    ]
