"""Setting a trailer up for one hull: winch post, axle and supports, by the balance of moments. Plain data only.

Lengths in mm behind the centre of the coupling, masses in kg. The stated order of the solution:
1. the transom stands over the rear support; that places the hull and the winch post, within the post's range;
2. the axle goes where the nose load is the wanted one, within its slots, in whole steps;
3. if the slots end first, the hull is moved along instead, as far as the post and the rear overhang let it;
4. the front support goes where the rear one carries its wanted share of the hull.
"""

from collections.abc import Sequence
from dataclasses import replace

from bom.ratings.frame import Aim, Case, Frame, HullFigures, SetUp
from bom.ratings.moments import (
    Group,
    Mass,
    axle_for_nose_mm,
    front_for_share_mm,
    moment_kg_mm,
    nose_kg,
    place_for_nose_mm,
    total_kg,
    two_supports_kg,
)
from bom.ratings.working import mm_text, steps_of

HULL_MASS_SHARE = 0.05
CENTRE_MM = 100.0


def centre_of(
    known_mm: float | None, is_measured: bool, bow_to_transom_mm: float, assumed_share: float
) -> tuple[float, str]:
    """The centre of gravity from the transom, and how it is known: measured, estimated, or assumed as a share."""
    if known_mm is not None:
        return known_mm, "measured" if is_measured else "estimated"
    return assumed_share * bow_to_transom_mm, "assumed"


def set_up(hull: HullFigures, frame: Frame, aim: Aim) -> SetUp:
    """Solve the set-up; closed form throughout.

    Raises:
        ValueError: figures that no trailer has (an axle before the coupling, no mass, a share outside 0 to 1).
    """
    laden = frame.body_kg + frame.running_gear_kg + hull.mass_kg + hull.gear_kg
    wanted = aim.nose_of(laden)
    notes: list[str] = []
    transom = _within(frame.rear_support_mm, *_transom_range(hull, frame))
    if transom != frame.rear_support_mm:
        notes.append(
            "The winch post ends its range before the transom stands over the rear support: "
            f"{_over(transom - frame.rear_support_mm)}."
        )
    exact = _axle(hull, frame, transom, wanted)
    axle = _within(_rounded(exact, frame.step_mm), frame.axle_from_mm, frame.axle_to_mm)
    if abs(axle - exact) > frame.step_mm:
        notes.append(f"The axle would have to stand at {mm_text(exact)}; its slots end at {mm_text(axle)}.")
        moved = _move_hull(hull, frame, axle, wanted)
        if moved != transom:
            way = "back" if moved > transom else "forward"
            notes.append(f"The hull is moved {way} by {mm_text(abs(moved - transom))} to make up for it.")
            transom = moved
    return _result(hull, frame, aim, wanted, axle, transom, notes, exact)


def _result(
    hull: HullFigures,
    frame: Frame,
    aim: Aim,
    wanted: float,
    axle: float,
    transom: float,
    notes: list[str],
    exact_axle: float,
) -> SetUp:
    group, sprung = frame.group_at(axle), _sprung(hull, frame, transom)
    nose = nose_kg(sprung, group)
    on_springs = total_kg(sprung) - nose
    wheels = frame.running_gear_kg / len(group.shares)
    laden = total_kg(sprung) + frame.running_gear_kg
    hull_at = transom - hull.centre_mm
    front, front_kg, rear_kg = _supports(hull, frame, aim, transom, hull_at, notes)
    bow = transom - hull.bow_to_transom_mm
    is_met = abs(nose - wanted) <= _tolerance(sprung, group, frame.step_mm)
    if not is_met:
        notes.append(
            f"The wanted nose load of {wanted:.0f} kg cannot be reached within slots and post; it is {nose:.0f} kg."
        )
    return SetUp(
        hull=hull,
        frame=frame,
        aim=aim,
        wanted_kg=wanted,
        axle_mm=axle,
        post_mm=bow - frame.bow_behind_post_mm,
        bow_mm=bow,
        transom_mm=transom,
        hull_at_mm=hull_at,
        laden_kg=laden,
        nose_kg=nose,
        axles_kg=tuple(share * on_springs + wheels for share in group.shares),
        front_support_mm=front,
        front_support_kg=front_kg,
        rear_support_kg=rear_kg,
        is_wanted_met=is_met,
        notes=tuple(notes),
        steps=steps_of(hull, frame, aim, wanted, sprung, group, nose, transom, exact_axle),
        cases=sensitivity(hull, frame, axle, transom),
    )


def sensitivity(hull: HullFigures, frame: Frame, axle_mm: float, transom_mm: float) -> tuple[Case, ...]:
    """The nose load as set, and with hull mass 5 % and centre of gravity 100 mm out, each way."""
    cases = (
        ("as set", hull),
        ("hull 5 % heavier", replace(hull, mass_kg=hull.mass_kg * (1 + HULL_MASS_SHARE))),
        ("hull 5 % lighter", replace(hull, mass_kg=hull.mass_kg * (1 - HULL_MASS_SHARE))),
        ("centre of gravity 100 mm further forward", replace(hull, centre_mm=hull.centre_mm + CENTRE_MM)),
        ("centre of gravity 100 mm further back", replace(hull, centre_mm=hull.centre_mm - CENTRE_MM)),
    )
    return tuple(_case(name, changed, frame, axle_mm, transom_mm) for name, changed in cases)


def _case(name: str, hull: HullFigures, frame: Frame, axle_mm: float, transom_mm: float) -> Case:
    sprung = _sprung(hull, frame, transom_mm)
    nose = nose_kg(sprung, frame.group_at(axle_mm))
    return Case(name, nose, nose / (total_kg(sprung) + frame.running_gear_kg))


def _sprung(hull: HullFigures, frame: Frame, transom_mm: float) -> tuple[Mass, ...]:
    masses = [
        Mass("trailer without axles and wheels", frame.body_kg, frame.body_at_mm),
        Mass("hull", hull.mass_kg, transom_mm - hull.centre_mm),
    ]
    if hull.gear_kg:
        masses.append(Mass("gear", hull.gear_kg, transom_mm - hull.gear_at_mm))
    return tuple(masses)


def _axle(hull: HullFigures, frame: Frame, transom_mm: float, wanted_kg: float) -> float:
    return axle_for_nose_mm(_sprung(hull, frame, transom_mm), wanted_kg, frame.group_at(frame.axle_from_mm))


def _move_hull(hull: HullFigures, frame: Frame, axle_mm: float, wanted_kg: float) -> float:
    """Where the transom goes for the wanted nose load with the axle at the end of its slots, in whole steps.

    Hull and gear move together, so they are placed as one mass at their common centre of gravity.
    """
    together = hull.mass_kg + hull.gear_kg
    from_transom = (hull.mass_kg * hull.centre_mm + hull.gear_kg * hull.gear_at_mm) / together
    body = (Mass("body", frame.body_kg, frame.body_at_mm),)
    place = place_for_nose_mm(body, together, wanted_kg, frame.group_at(axle_mm))
    return _within(_rounded(place + from_transom, frame.step_mm), *_transom_range(hull, frame))


def _transom_range(hull: HullFigures, frame: Frame) -> tuple[float, float]:
    """From where to where the transom may stand: the post's range and the rear overhang, the post going first."""
    reach = frame.bow_behind_post_mm + hull.bow_to_transom_mm
    low, high = frame.post_from_mm + reach, frame.post_to_mm + reach
    least = frame.rear_support_mm - frame.transom_before_mm
    most = frame.rear_support_mm + frame.transom_beyond_mm
    return (min(max(low, least), high), max(min(high, most), low))


def _supports(
    hull: HullFigures, frame: Frame, aim: Aim, transom: float, hull_at: float, notes: list[str]
) -> tuple[float, float, float]:
    """Front support and what rests on front and rear; intermediate supports are set to touch and carry nothing here."""
    together = hull.mass_kg + hull.gear_kg
    centre = (hull.mass_kg * hull_at + hull.gear_kg * (transom - hull.gear_at_mm)) / together
    wanted = _rounded(front_for_share_mm(centre, frame.rear_support_mm, aim.rear_share), frame.step_mm)
    front = _within(wanted, frame.front_support_from_mm, centre - frame.step_mm)
    if front != wanted:
        notes.append(
            f"The front support would stand at {mm_text(wanted)}; the frame begins at {mm_text(front)}."
        )
    return (front, *two_supports_kg(together, centre, front, frame.rear_support_mm))


def _tolerance(sprung: Sequence[Mass], group: Group, step_mm: float) -> float:
    """By how much one step of the axle changes the nose load: nearer than that it cannot be set."""
    moment = moment_kg_mm(sprung)
    return moment / group.acts_at_mm**2 * step_mm


def _within(value: float, low: float, high: float) -> float:
    return min(max(value, low), high)


def _rounded(value: float, step: float) -> float:
    return round(value / step) * step


def _over(value: float) -> str:
    return f"it stands {mm_text(abs(value))} {'beyond' if value > 0 else 'before'} it"
