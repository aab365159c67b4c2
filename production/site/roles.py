"""Roles: which group of people may do what. Looking at pages needs only a sign-in."""

from django.contrib.auth.models import Group, Permission

from bom.kernel.errors import Problem, ProblemError

OFFICE = "office"
MANAGER = "production manager"
STORES = "stores"
LASER = "laser operator"
COATING = "coating"
ASSEMBLY = "assembly"
VIEWER = "viewer"

_FLOOR = {"production.report_work"}
_OFFICE = {
    "inventory.approve_purchaseorder",
    "production.add_order",
    "production.change_order",
    "production.confirm_order",
    "production.cancel_order",
    "production.import_order",
    "production.add_customer",
    "production.change_customer",
    "inventory.value_stock",
    "production.see_cost",
    "production.write_claim",
    "production.plan_delivery",
}
_STORES = {
    "inventory.settle_levels",
    "inventory.receive_goods",
    "inventory.issue_stock",
    "inventory.count_stock",
    "inventory.scrap_stock",
    "inventory.reverse_posting",
    "inventory.reserve_stock",
    "inventory.change_labellayout",
    "inventory.hold_stock",
    "inventory.send_back",
    "inventory.change_handlingrule",
    "production.accept_substitute",
    "inventory.add_purchaseorder",
    "inventory.change_purchaseorder",
    "inventory.confirm_purchaseorder",
    "inventory.send_outside",
    "inventory.claim_outside",
    "production.silence_alert",
    "bom.import_item",
    "bom.change_itemidentifier",
}
_LASER = {"production.cut_sheets", "bom.draw_part", *_FLOOR}
_COATING = {"production.coat_parts", "production.replace_part", "inventory.claim_outside", *_FLOOR}
_ASSEMBLY = {
    "inventory.issue_stock",
    "production.give_plate",
    "production.inspect_weld",
    "production.plan_delivery",
    *_FLOOR,
}
_MANAGER = (
    _OFFICE
    | _STORES
    | _LASER
    | _COATING
    | _ASSEMBLY
    | {
        "production.run_plan",
        "production.change_shop",
        "production.set_checks",
        "production.clear_check",
        "production.open_recall",
        "production.release_plan",
        "production.give_calendar",
        "production.correct_times",
        "production.clear_stops",
        "production.set_clamps",
        "production.set_speeds",
        "production.change_rate",
        "inventory.release_purchaseorder",
        "inventory.approve_purchaseorder",
        "inventory.change_terms",
        "inventory.set_limits",
        "inventory.approve_count",
        "inventory.change_countclass",
        "production.set_digest",
        "bom.add_item",
        "bom.change_item",
        "bom.add_revision",
        "bom.change_revision",
        "bom.release_revision",
        "bom.change_rules",
        "bom.import_range",
        "production.accept_rating",
        "production.solve_problem",
        "bom.set_geometry_rule",
        "production.set_coating",
        "production.write_notes",
        "production.clear_weld",
    }
)

ROLES: dict[str, set[str]] = {
    OFFICE: _OFFICE,
    MANAGER: _MANAGER,
    STORES: _STORES,
    LASER: _LASER,
    COATING: _COATING,
    ASSEMBLY: _ASSEMBLY,
    VIEWER: set(),
}

# The page a person sees first: the first of his roles that stands here.
START_PAGES: dict[str, str] = {
    MANAGER: "week:week",
    STORES: "stores:stock",
    LASER: "laser:station",
    COATING: "coating:galvanising",
    ASSEMBLY: "assembly:kits",
    OFFICE: "orders:book",
    VIEWER: "orders:book",
}


def sync_roles() -> dict[str, Group]:
    """Make the groups, and give each exactly the permissions of its role. Safe to repeat.

    Raises:
        ProblemError: a permission named here does not exist (a model lost it).
    """
    known = {
        f"{app}.{codename}": pk
        for app, codename, pk in Permission.objects.values_list("content_type__app_label", "codename", "pk")
    }
    unknown = sorted(set().union(*ROLES.values()) - set(known))
    if unknown:
        raise ProblemError(
            Problem(
                what=f"These permissions do not exist: {', '.join(unknown)}.",
                where="production/site/roles.py",
                mend="Run migrate first, or correct the name.",
            )
        )
    groups = {}
    for role, permissions in ROLES.items():
        group, _ = Group.objects.get_or_create(name=role)
        group.permissions.set(known[name] for name in permissions)
        groups[role] = group
    return groups
