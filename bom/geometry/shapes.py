"""Outlines of the flat parts that trailers are made of, each from a few dimensions in mm.

Every family is a function that returns a checked FlatOutline; dimensions that do not go together are
refused with a ProblemError. `FAMILIES` names them all. The default dimensions are common practice, no
source. Folded parts are given as flat blanks.
"""

from __future__ import annotations

from collections.abc import Callable

from bom.geometry.drawing import (
    bolt_circle,
    checked,
    circle,
    grid,
    obround,
    rectangle,
    refusal,
    rounded,
    tapered_link,
)
from bom.geometry.outlines import Contour, FlatOutline, Vertex


def rectangular_plate(
    length_mm: float = 200,
    width_mm: float = 120,
    corner_radius_mm: float = 10,
    hole_diameter_mm: float = 13,
    columns: int = 2,
    rows: int = 2,
    pitch_x_mm: float = 150,
    pitch_y_mm: float = 70,
) -> FlatOutline:
    """A plate with rounded corners and a pattern of round holes about its middle; no columns, no holes."""
    points = grid(columns, rows, pitch_x_mm, pitch_y_mm, (length_mm / 2, width_mm / 2))
    outer = rounded(rectangle(length_mm, width_mm), corner_radius_mm)
    return checked(outer, [circle(x, y, hole_diameter_mm) for x, y in points])


def gusset(
    leg_a_mm: float = 120, leg_b_mm: float = 120, clip_mm: float = 15, nose_mm: float = 12
) -> FlatOutline:
    """A corner gusset: right angle clipped to clear the weld, both points cut to a nose."""
    return checked(
        rounded(
            (
                (clip_mm, 0.0),
                (leg_a_mm, 0.0),
                (leg_a_mm, nose_mm),
                (nose_mm, leg_b_mm),
                (0.0, leg_b_mm),
                (0.0, clip_mm),
            ),
            0,
        )
    )


def hanger_plate(
    width_mm: float = 90,
    height_mm: float = 160,
    pivot_diameter_mm: float = 24,
    slots: int = 2,
    slot_length_mm: float = 30,
    slot_width_mm: float = 13,
) -> FlatOutline:
    """A spring or axle hanger: round top about the pivot hole, slots side by side in the square foot."""
    radius = width_mm / 2
    if height_mm <= radius:
        raise refusal(f"A hanger of {height_mm:g} mm has no foot below its round top")
    top = height_mm - radius
    outer = Contour((Vertex(0, 0), Vertex(width_mm, 0), Vertex(width_mm, top, 1.0), Vertex(0, top)))
    places = grid(slots, 1, width_mm / max(slots, 1), 0.0, (radius, slot_length_mm / 2 + slot_width_mm))
    holes = [obround(x, y, slot_length_mm, slot_width_mm, turned_deg=90) for x, y in places]
    return checked(outer, [circle(radius, top, pivot_diameter_mm), *holes])


def winch_post_plate(
    foot_mm: float = 180,
    head_mm: float = 90,
    height_mm: float = 520,
    corner_radius_mm: float = 15,
    windows: int = 3,
    bolt_diameter_mm: float = 11,
) -> FlatOutline:
    """A tapered winch post side with lightening holes that shrink upwards and two bolt holes at the head."""
    middle, room = foot_mm / 2, height_mm - 120
    corners = (
        (0.0, 0.0),
        (foot_mm, 0.0),
        (middle + head_mm / 2, height_mm),
        (middle - head_mm / 2, height_mm),
    )
    holes = [circle(middle + side * head_mm / 4, height_mm - 30, bolt_diameter_mm) for side in (-1, 1)]
    for at in range(windows):
        up = 60 + room * (at + 0.5) / windows
        across = foot_mm + (head_mm - foot_mm) * up / height_mm
        holes.append(circle(middle, up, min(0.5 * across, 0.7 * room / windows)))
    return checked(rounded(corners, corner_radius_mm), holes)


def keel_roller_bracket(
    roller_mm: float = 200,
    arm_mm: float = 80,
    arm_width_mm: float = 50,
    pin_diameter_mm: float = 17,
    slot_length_mm: float = 40,
) -> FlatOutline:
    """Blank of a U bracket: two round-ended arms with pin holes, folded up from a base with two slots."""
    length, radius = roller_mm + 2 * arm_mm, arm_width_mm / 2
    if arm_mm <= radius:
        raise refusal(f"Arms of {arm_mm:g} mm are too short for a width of {arm_width_mm:g} mm")
    pins = [circle(x, radius, pin_diameter_mm) for x in (radius, length - radius)]
    slots = [
        obround(length / 2 + side * roller_mm / 4, radius, slot_length_mm, arm_width_mm / 4)
        for side in (-1, 1)
    ]
    return checked(obround(length / 2, radius, length, arm_width_mm), [*pins, *slots])


def coupling_plate(
    length_mm: float = 190,
    width_mm: float = 100,
    slots: int = 4,
    slot_length_mm: float = 24,
    slot_width_mm: float = 13,
    corner_radius_mm: float = 12,
) -> FlatOutline:
    """The plate under the coupling, with two to four slots along the drawbar."""
    if slots not in (2, 3, 4):
        raise refusal(f"A coupling plate has two to four slots, not {slots}")
    low, high, left, right = width_mm * 0.25, width_mm * 0.75, length_mm * 0.22, length_mm * 0.78
    places = {
        2: ((left, width_mm / 2), (right, width_mm / 2)),
        3: ((left, low), (left, high), (right, width_mm / 2)),
        4: ((left, low), (left, high), (right, low), (right, high)),
    }[slots]
    outer = rounded(rectangle(length_mm, width_mm), corner_radius_mm)
    return checked(outer, [obround(x, y, slot_length_mm, slot_width_mm) for x, y in places])


def light_bracket(
    length_mm: float = 260,
    width_mm: float = 110,
    flange_mm: float = 45,
    window_length_mm: float = 150,
    window_width_mm: float = 60,
    bolt_diameter_mm: float = 9,
) -> FlatOutline:
    """Blank of an angled light bracket: a window for the lamp's back, and a flange with two slots."""
    height = width_mm + flange_mm
    left, low = (length_mm - window_length_mm) / 2, flange_mm + (width_mm - window_width_mm) / 2
    window = [(left + x, low + y) for x, y in rectangle(window_length_mm, window_width_mm)]
    bolts = grid(2, 1, window_length_mm + 50, 0.0, (length_mm / 2, flange_mm + width_mm / 2))
    slots = grid(2, 1, length_mm / 2, 0.0, (length_mm / 2, flange_mm / 2))
    holes = [circle(x, y, bolt_diameter_mm) for x, y in bolts]
    holes += [obround(x, y, 3 * bolt_diameter_mm, bolt_diameter_mm) for x, y in slots]
    return checked(rounded(rectangle(length_mm, height), (4, 4, 20, 20)), [rounded(window, 8), *holes])


def mudguard_stay(length_mm: float = 420, width_mm: float = 40, slot_length_mm: float = 35) -> FlatOutline:
    """A round-ended strip with a slot at each end and a hole on either side of the fold in the middle."""
    middle, slot_width = width_mm / 2, width_mm / 4
    ends = (width_mm * 0.4 + slot_length_mm / 2, length_mm - width_mm * 0.4 - slot_length_mm / 2)
    slots = [obround(x, middle, slot_length_mm, slot_width) for x in ends]
    holes = [circle(length_mm / 2 + side * width_mm, middle, slot_width) for side in (-1, 1)]
    return checked(obround(length_mm / 2, middle, length_mm, width_mm), [*slots, *holes])


def axle_clamp_plate(
    length_mm: float = 150,
    width_mm: float = 110,
    bolt_diameter_mm: float = 13,
    pitch_x_mm: float = 110,
    pitch_y_mm: float = 72,
    dowel_diameter_mm: float = 17,
) -> FlatOutline:
    """The plate under an axle: four U-bolt holes and a locating hole in the middle."""
    middle = (length_mm / 2, width_mm / 2)
    holes = [circle(x, y, bolt_diameter_mm) for x, y in grid(2, 2, pitch_x_mm, pitch_y_mm, middle)]
    outer = rounded(rectangle(length_mm, width_mm), min(length_mm, width_mm) / 8)
    return checked(outer, [circle(*middle, dowel_diameter_mm), *holes])


def bunk_bracket(
    height_mm: float = 180, foot_mm: float = 60, head_mm: float = 110, slot_length_mm: float = 90
) -> FlatOutline:
    """Blank of a bunk support: narrow foot with a long upright slot, wide head with two bolt holes."""
    middle, knee = head_mm / 2, height_mm * 0.65
    corners = (
        (middle - foot_mm / 2, 0.0),
        (middle + foot_mm / 2, 0.0),
        (middle + foot_mm / 2, knee),
        (head_mm, knee + (head_mm - foot_mm) / 2),
        (head_mm, height_mm),
        (0.0, height_mm),
        (0.0, knee + (head_mm - foot_mm) / 2),
        (middle - foot_mm / 2, knee),
    )
    slot = obround(middle, 12 + slot_length_mm / 2, slot_length_mm, 13, turned_deg=90)
    bolts = [circle(x, height_mm - 16, 11) for x in (head_mm * 0.2, head_mm * 0.8)]
    return checked(rounded(corners, (6, 6, 10, 4, 8, 8, 4, 10)), [slot, *bolts])


def flange_ring(
    outside_mm: float = 160,
    inside_mm: float = 80,
    bolts: int = 5,
    bolt_circle_mm: float = 112,
    bolt_mm: float = 13,
) -> FlatOutline:
    """A disc with a bore and holes on a bolt circle."""
    holes = [circle(x, y, bolt_mm) for x, y in bolt_circle(bolts, bolt_circle_mm)]
    return checked(circle(0, 0, outside_mm), [circle(0, 0, inside_mm), *holes])


def drawbar_doubler(
    length_mm: float = 480, width_mm: float = 90, nose_mm: float = 110, plug_slots: int = 4
) -> FlatOutline:
    """A doubler that tapers to both ends, with slots for plug welds."""
    tip = width_mm / 3
    corners = (
        (0.0, (width_mm - tip) / 2),
        (nose_mm, 0.0),
        (length_mm - nose_mm, 0.0),
        (length_mm, (width_mm - tip) / 2),
        (length_mm, (width_mm + tip) / 2),
        (length_mm - nose_mm, width_mm),
        (nose_mm, width_mm),
        (0.0, (width_mm + tip) / 2),
    )
    pitch = (length_mm - 2 * nose_mm) / plug_slots
    places = grid(plug_slots, 1, pitch, 0.0, (length_mm / 2, width_mm / 2))
    return checked(rounded(corners, 8), [obround(x, y, 40, 14) for x, y in places])


def tongue_splice(
    length_mm: float = 320,
    width_mm: float = 80,
    slots: int = 6,
    slot_length_mm: float = 26,
    slot_width_mm: float = 13,
) -> FlatOutline:
    """A splice plate with slots in two rows, for a drawbar that bolts apart."""
    columns, odd = divmod(slots, 2)
    if odd or not columns:
        raise refusal(f"A splice has slots in pairs, not {slots}")
    places = grid(columns, 2, length_mm / (columns + 0.3), width_mm / 2, (length_mm / 2, width_mm / 2))
    outer = rounded(rectangle(length_mm, width_mm), 10)
    return checked(outer, [obround(x, y, slot_length_mm, slot_width_mm) for x, y in places])


def tie_down_tab(width_mm: float = 60, height_mm: float = 75, eye_mm: float = 28) -> FlatOutline:
    """A weld-on eye: straight foot, round head."""
    radius = width_mm / 2
    if height_mm <= radius:
        raise refusal(f"A tab of {height_mm:g} mm has no foot below its round head")
    top = height_mm - radius
    outer = Contour((Vertex(0, 0), Vertex(width_mm, 0), Vertex(width_mm, top, 1.0), Vertex(0, top)))
    return checked(outer, [circle(radius, top, eye_mm)])


def end_cap(length_mm: float = 80, width_mm: float = 60, vent_mm: float = 12) -> FlatOutline:
    """The cap on a hollow section, with vent and drain hole in opposite corners for the zinc bath."""
    inset = vent_mm / 2 + 8
    holes = [circle(inset, inset, vent_mm), circle(length_mm - inset, width_mm - inset, vent_mm)]
    return checked(rounded(rectangle(length_mm, width_mm), 5), holes)


def roller_arm(
    length_mm: float = 240, pivot_mm: float = 26, pin_mm: float = 17, wall_mm: float = 16
) -> FlatOutline:
    """The swinging arm of a side roller set: a link from the pivot to the smaller roller pin."""
    big, small = pivot_mm / 2 + wall_mm, pin_mm / 2 + wall_mm
    outer = tapered_link((big, big, big), (big + length_mm, big, small))
    return checked(outer, [circle(big, big, pivot_mm), circle(big + length_mm, big, pin_mm)])


def bow_stop_cheek(
    width_mm: float = 140, height_mm: float = 150, notch_mm: float = 50, pin_mm: float = 17
) -> FlatOutline:
    """A cheek of the bow stop: V notch for the stem, pin hole for its roller, two bolt holes in the foot."""
    middle = width_mm / 2
    corners = (
        (0.0, 0.0),
        (width_mm, 0.0),
        (width_mm, height_mm),
        (middle + notch_mm * 0.7, height_mm),
        (middle, height_mm - notch_mm),
        (middle - notch_mm * 0.7, height_mm),
        (0.0, height_mm),
    )
    pin = circle(middle, (height_mm - notch_mm) * 0.62, pin_mm)
    bolts = [circle(x, 20, 11) for x in (width_mm * 0.2, width_mm * 0.8)]
    return checked(rounded(corners, (10, 10, 8, 5, 6, 5, 8)), [pin, *bolts])


def jockey_clamp_plate(length_mm: float = 120, width_mm: float = 100, tube_mm: float = 48) -> FlatOutline:
    """The plate that carries the jockey wheel clamp: a hole for the tube and four bolts about it."""
    middle = (length_mm / 2, width_mm / 2)
    bolts = [circle(x, y, 11) for x, y in grid(2, 2, length_mm - 32, width_mm - 32, middle)]
    return checked(rounded(rectangle(length_mm, width_mm), 12), [circle(*middle, tube_mm), *bolts])


def plate_holder(length_mm: float = 340, width_mm: float = 130, window_mm: float = 200) -> FlatOutline:
    """The carrier of the number plate: a long window to save weight and four slots."""
    middle = (length_mm / 2, width_mm / 2)
    slots = [obround(x, y, 16, 7) for x, y in grid(2, 2, length_mm - 60, width_mm - 36, middle)]
    return checked(
        rounded(rectangle(length_mm, width_mm), 10), [obround(*middle, window_mm, width_mm * 0.3), *slots]
    )


def spare_wheel_plate(side_mm: float = 260, bolts: int = 5, bolt_circle_mm: float = 112) -> FlatOutline:
    """The spare wheel's carrier: a rounded three-sided plate with a bolt circle about its middle."""
    high = side_mm * 3**0.5 / 2
    middle = (side_mm / 2, high / 3)
    holes = [circle(x, y, 13) for x, y in bolt_circle(bolts, bolt_circle_mm, middle)]
    corners = ((0.0, 0.0), (side_mm, 0.0), (side_mm / 2, high))
    return checked(rounded(corners, side_mm / 9), [circle(*middle, 40), *holes])


def washer_plate(side_mm: float = 50, hole_mm: float = 17) -> FlatOutline:
    """A square washer with clipped corners under a U-bolt nut."""
    clip = side_mm / 6
    corners = (
        (clip, 0.0),
        (side_mm - clip, 0.0),
        (side_mm, clip),
        (side_mm, side_mm - clip),
        (side_mm - clip, side_mm),
        (clip, side_mm),
        (0.0, side_mm - clip),
        (0.0, clip),
    )
    return checked(rounded(corners, 0), [circle(side_mm / 2, side_mm / 2, hole_mm)])


FAMILIES: dict[str, Callable[..., FlatOutline]] = {
    family.__name__: family
    for family in (
        rectangular_plate,
        gusset,
        hanger_plate,
        winch_post_plate,
        keel_roller_bracket,
        coupling_plate,
        light_bracket,
        mudguard_stay,
        axle_clamp_plate,
        bunk_bracket,
        flange_ring,
        drawbar_doubler,
        tongue_splice,
        tie_down_tab,
        end_cap,
        roller_arm,
        bow_stop_cheek,
        jockey_clamp_plate,
        plate_holder,
        spare_wheel_plate,
        washer_plate,
    )
}
