"""The rules as shipped: a dated set to begin with, every figure marked as not verified.

`seen` says where the figure was seen; "from memory" means it was not seen anywhere, "common practice, no source" that
nobody lays it down. Legal texts themselves were not read. A person reads the official text, corrects and verifies.
"""

from dataclasses import dataclass
from datetime import date

from bom.ratings.rules import ASK, OF_WHOLE, ON_AXLES, WHOLE, WITHOUT_DRAWBAR, YES, Edge

SHIPPED_ON = date(2026, 11, 25)
MARKETS = (("EU", "European Union, UN regulations"), ("UK", "United Kingdom"))
MEMORY, PRACTICE = "from memory", "common practice, no source"


@dataclass(frozen=True)
class Shipped:
    """One rule as shipped, with its market ("" for every market)."""

    market: str
    subject: str
    answer: float | str
    clause: str
    seen: str
    edge: Edge = ""


RULES = (
    Shipped(
        "EU",
        "category_mass",
        ON_AXLES,
        "Reg (EU) 2018/858, Art. 4(1)(c)",
        "arkisto.trafi.fi/en/news/6767: 825 kg in all = 750 kg on the axle + 75 kg nose load is O1",
    ),
    Shipped("UK", "category_mass", OF_WHOLE, "gross mass 750 kg as usual in the United Kingdom", MEMORY),
    Shipped(
        "",
        "o1_most_kg",
        750,
        "Reg (EU) 2018/858, Art. 4(1)(c)",
        "stk.etesty.cz, question 22249; clause from memory",
    ),
    Shipped(
        "",
        "o2_most_kg",
        3500,
        "Reg (EU) 2018/858, Art. 4(1)(c)",
        "stk.etesty.cz, question 22249; clause from memory",
    ),
    Shipped(
        "", "brakes_kg", 750, "UN R13, 5.2.2", "ntta.co.uk/law/trailers/brakes; clause from memory", "over"
    ),
    Shipped(
        "",
        "unbraked_vehicle_share",
        0.5,
        "road-traffic convention, annex on technical conditions",
        "adcidl.com, annex 6",
    ),
    Shipped(
        "",
        "secondary_most_kg",
        1500,
        "UN R13, 5.2.2",
        "a stored guide to breakaway cables; clause from memory",
    ),
    Shipped(
        "", "nose_least_share", 0.04, "StVZO § 44(3), German road traffic rules", "gesetze-in-app.de/StVZO/44"
    ),
    Shipped(
        "", "nose_least_cap_kg", 25, "StVZO § 44(3), German road traffic rules", "gesetze-in-app.de/StVZO/44"
    ),
    Shipped("", "nose_most_share", 0.10, "ISO 3833, centre-axle trailer", "iss.rs, project 16754"),
    Shipped("", "nose_most_kn", 10, "ISO 3833, centre-axle trailer", "iss.rs, project 16754"),
    Shipped(
        "",
        "gravity",
        9.81,
        "UN R55, definitions",
        "engineersedge.com, rigid drawbar trailers; clause from memory",
    ),
    Shipped(
        "EU",
        "width_most_mm",
        2550,
        "Directive 96/53/EC",
        "transportxxl.eu/dimensions-7.html; clause from memory",
    ),
    Shipped(
        "UK",
        "width_most_mm",
        2550,
        "C&U Regulations 1986, reg. 8",
        "ntta.co.uk/news/change-to-trailer-width-rule-11; clause from memory",
    ),
    Shipped(
        "EU",
        "length_as",
        WHOLE,
        "Directive 96/53/EC",
        "transportxxl.eu/dimensions-7.html; clause from memory",
    ),
    Shipped(
        "UK",
        "length_as",
        WITHOUT_DRAWBAR,
        "C&U Regulations 1986, reg. 7",
        "pressreader.com, 1 Feb 2019; clause from memory",
    ),
    Shipped(
        "EU",
        "length_most_mm",
        12000,
        "Directive 96/53/EC",
        "transportxxl.eu/dimensions-7.html; clause from memory",
    ),
    Shipped(
        "EU",
        "length_heavy_most_mm",
        12000,
        "Directive 96/53/EC",
        "transportxxl.eu/dimensions-7.html; clause from memory",
    ),
    Shipped(
        "UK",
        "length_most_mm",
        7000,
        "C&U Regulations 1986, reg. 7",
        "pressreader.com, 1 Feb 2019; clause from memory",
    ),
    Shipped(
        "UK",
        "length_heavy_most_mm",
        12000,
        "C&U Regulations 1986, reg. 7",
        "pressreader.com, 1 Feb 2019; clause from memory",
    ),
    Shipped(
        "",
        "heavy_vehicle_kg",
        3500,
        "C&U Regulations 1986, reg. 7",
        "pressreader.com, 1 Feb 2019; clause from memory",
        "over",
    ),
    Shipped(
        "",
        "front_lamps_mm",
        1600,
        "UN R48, 6.9.1",
        "normativa.montevideo.gub.uy/node/65436, a national text; clause from memory",
        "over",
    ),
    Shipped("", "outline_lamps_mm", 2100, "UN R48, 6.13.1", MEMORY, "over"),
    Shipped("", "side_lamps_mm", 6000, "UN R48, 6.18.1", MEMORY, "over"),
    Shipped("EU", "side_lamps_as", WHOLE, "UN R48, 6.18.1", MEMORY),
    Shipped("UK", "side_lamps_as", WITHOUT_DRAWBAR, "RVLR 1989, schedule 9", MEMORY),
    Shipped("EU", "side_lamps_boats", YES, "UN R48, 6.18.1", MEMORY),
    Shipped(
        "UK",
        "side_lamps_boats",
        ASK,
        "RVLR 1989; guides say boat trailers are exempt, UN R48 does not",
        MEMORY,
    ),
    Shipped("", "side_lamps_gap_mm", 3000, "UN R48, 6.18.4", "wordscope.be, middle marker"),
    Shipped("", "reversing_lamp_kg", 750, "UN R48, 6.4.1", MEMORY, "over"),
    Shipped("EU", "fog_lamp_mm", 0, "UN R48, 6.11.1: every trailer", MEMORY, "over"),
    Shipped("UK", "fog_lamp_mm", 1300, "RVLR 1989", MEMORY, "over"),
    Shipped("EU", "board_allowed", ASK, "UN R48, 5", MEMORY),
    Shipped("UK", "board_allowed", YES, "RVLR 1989", MEMORY),
    Shipped(
        "EU", "tyre_speed_kmh", 100, "highest speed with a trailer on motorways, differs by country", MEMORY
    ),
    Shipped("UK", "tyre_speed_kmh", 97, "60 miles an hour with a trailer", MEMORY),
    Shipped("", "vehicle_assumed_kg", 3500, "heaviest vehicle of categories M1 and N1", PRACTICE),
    Shipped("", "nose_wanted_share", 0.06, "5 to 7 % of the laden mass", PRACTICE),
    Shipped("", "centre_assumed_share", 0.40, "outboard boats", PRACTICE),
    Shipped("", "rear_support_share", 0.50, "front and rear supports carry half each", PRACTICE),
    Shipped("", "slot_step_mm", 5, "as set with a tape", PRACTICE),
)


def shipped_for(market: str) -> list[Shipped]:
    return [rule for rule in RULES if rule.market in ("", market)]
