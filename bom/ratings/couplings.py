"""What acts between towing vehicle and trailer: D, Dc and V values, and the least and most nose load.

Masses in kg, forces in kN. Formulas of UN Regulation 55 (definitions); the regulation's own text was not read, the
formulas are as published for centre-axle trailers at engineersedge.com, calculators/rigid_drawbar_trailers_14734.
"""

GRAVITY = 9.81
KG_A_TONNE = 1000


def d_value_kn(towing_kg: float, trailer_kg: float, gravity: float = GRAVITY) -> float:
    """D in kN of a trailer with a hinged drawbar: `g × T × R ÷ (T + R)`, T and R the maximum masses.

    Raises:
        ValueError: a mass that is not above zero.
    """
    return _between(towing_kg, trailer_kg, gravity)


def dc_value_kn(towing_kg: float, axles_kg: float, gravity: float = GRAVITY) -> float:
    """Dc in kN of a centre-axle trailer: `g × T × C ÷ (T + C)`, C the mass on the trailer's axles without nose load.

    A boat trailer with a rigid drawbar is a centre-axle trailer. Its whole mass put in for C errs on the safe side.

    Raises:
        ValueError: a mass that is not above zero.
    """
    return _between(towing_kg, axles_kg, gravity)


def v_value_kn(axles_kg: float, loading_length_mm: float, drawbar_mm: float, acceleration: float) -> float:
    """V in kN: `a × C × max(1, X² ÷ L²)`; a is 1.8 m/s² behind an air-sprung vehicle, 2.4 behind another.

    Asked for only where C is above 3.5 t (from memory); for categories O1 and O2 it informs and decides nothing.

    Raises:
        ValueError: a mass or a length that is not above zero.
    """
    if min(axles_kg, loading_length_mm, drawbar_mm) <= 0:
        raise ValueError("Mass and lengths must be above zero.")
    return acceleration * axles_kg / KG_A_TONNE * max(1.0, (loading_length_mm / drawbar_mm) ** 2)


def least_nose_kg(total_kg: float, share: float, cap_kg: float) -> float:
    """The least nose load: a share of the actual total mass, but no more than the cap is ever asked for."""
    return min(share * total_kg, cap_kg)


def most_nose_kg(max_mass_kg: float, share: float, most_kn: float, gravity: float = GRAVITY) -> float:
    """The most nose load of a centre-axle trailer: the smaller of a share of its maximum mass and a force."""
    return min(share * max_mass_kg, most_kn * KG_A_TONNE / gravity)


def _between(first_kg: float, second_kg: float, gravity: float) -> float:
    if min(first_kg, second_kg) <= 0:
        raise ValueError("Both masses must be above zero.")
    return gravity * first_kg * second_kg / (first_kg + second_kg) / KG_A_TONNE
