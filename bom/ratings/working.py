"""The working of a set-up, line by line: the formula in letters, the figures put in, the result."""

from collections.abc import Sequence

from bom.ratings.frame import Aim, Frame, HullFigures, Step
from bom.ratings.moments import Group, Mass, moment_kg_mm, total_kg


def steps_of(
    hull: HullFigures,
    frame: Frame,
    aim: Aim,
    wanted: float,
    sprung: Sequence[Mass],
    group: Group,
    nose: float,
    transom: float,
    exact_axle: float,
) -> tuple[Step, ...]:
    mass = total_kg(sprung)
    moment = moment_kg_mm(sprung)
    terms = " + ".join(f"{one.kg:.1f} × {one.at_mm:.0f}" for one in sprung)
    names = ", ".join(f"{one.name} {one.kg:.1f} kg at {one.at_mm:.0f} mm" for one in sprung)
    laden = mass + frame.running_gear_kg
    goal = "given outright" if aim.nose_kg is not None else f"{aim.nose_share:g} × {laden:.1f}"
    return (
        *_placing(hull, frame, transom),
        Step("Mass on coupling and springs, M", "sum of masses", names, f"{mass:.1f} kg"),
        Step(
            "Moment about the coupling, Q",
            "sum of mass × distance",
            terms,
            f"{moment:,.0f} kg mm".replace(",", "\u202f"),
        ),
        Step(
            "Laden mass",
            "M + axles and wheels, which stand on the ground by themselves",
            f"{mass:.1f} + {frame.running_gear_kg:.1f}",
            f"{laden:.1f} kg",
        ),
        Step("Wanted nose load, N", "share × laden mass", goal, f"{wanted:.1f} kg"),
        Step(
            "Axle for it, exactly",
            _axle_formula(frame),
            f"transom over the rear support; slots {frame.axle_from_mm:.0f} to {frame.axle_to_mm:.0f}, "
            f"steps of {frame.step_mm:.0f}",
            mm_text(exact_axle),
        ),
        Step(
            "Where the axle loads act, E",
            _acts_formula(frame),
            f"axle set at {group.at_mm:.0f}",
            mm_text(group.acts_at_mm),
        ),
        Step(
            "Nose load", "M − Q ÷ E", f"{mass:.1f} − {moment:.0f} ÷ {group.acts_at_mm:.1f}", f"{nose:.1f} kg"
        ),
        Step("On the axles", "laden mass − nose load", f"{laden:.1f} − {nose:.1f}", f"{laden - nose:.1f} kg"),
        *_sharing(frame, group, mass - nose),
    )


def _placing(hull: HullFigures, frame: Frame, transom: float) -> tuple[Step, ...]:
    """Where the hull stands: its transom, the winch post before its bow, its centre of gravity."""
    return (
        Step(
            "Transom",
            "over the rear support, within the post's range",
            f"{frame.rear_support_mm:.0f}",
            mm_text(transom),
        ),
        Step(
            "Winch post",
            "transom − bow to transom − bow stop to post",
            f"{transom:.0f} − {hull.bow_to_transom_mm:.0f} − {frame.bow_behind_post_mm:.0f}",
            mm_text(transom - hull.bow_to_transom_mm - frame.bow_behind_post_mm),
        ),
        Step(
            "Hull's centre of gravity",
            "transom − its distance from the transom",
            f"{transom:.0f} − {hull.centre_mm:.0f} ({hull.centre_is})",
            mm_text(transom - hull.centre_mm),
        ),
    )


def _sharing(frame: Frame, group: Group, sprung_kg: float) -> tuple[Step, ...]:
    """How a pair of axles shares what its springs carry; nothing to say of a single axle."""
    if len(group.shares) < 2:
        return ()
    shares = " and ".join(f"{share:.1%}" for share in group.shares)
    put_in = f"of {sprung_kg:.1f} kg on the springs, and half the running gear each"
    return (Step("Front and rear axle", _share_words(frame), put_in, shares),)


def _axle_formula(frame: Frame) -> str:
    if frame.spread_mm and not frame.shares_equally:
        return "E = Q ÷ (M − N); L = (E + √(E² − s²)) ÷ 2"
    return "L = Q ÷ (M − N)"


def _acts_formula(frame: Frame) -> str:
    if frame.spread_mm and not frame.shares_equally:
        return f"L + s² ÷ 4L, s = {frame.spread_mm:.0f} mm between the axles"
    return "at the middle of the axle group"


def _share_words(frame: Frame) -> str:
    if frame.shares_equally:
        return "springs are linked: half each"
    return (
        "assumed: each axle on rubber of its own, equal spring rates, frame level when empty, coupling held at its "
        "height; ½ ∓ s ÷ 4L"
    )


def mm_text(value: float) -> str:
    return f"{value:,.0f} mm".replace(",", "\u202f")
