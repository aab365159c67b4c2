"""The templates a workshop may begin with. They are the workshop's to change: what stands on a paper is the maker's
responsibility, and nothing here is the form of any authority. One sentence is not the workshop's to leave out: a
certificate says whose responsibility it is (`CLOSING`)."""

from __future__ import annotations

# A page is a drawing sheet: a frame, and a title block at its foot.
_A4 = """#set page(paper: "a4", margin: (x: 20mm, top: 20mm, bottom: 28mm),
  background: rect(width: 190mm, height: 277mm, stroke: 0.7pt),
  footer: align(right, table(columns: 4, inset: 4pt, stroke: 0.5pt, align: left,
    ..(("Maker", d.maker), ("Order", d.order), ("Made", d.today)).map(
      pair => [#text(6pt)[#pair.at(0)] \\ #text(8pt)[#pair.at(1)]]),
    context [#text(6pt)[Sheet] \\ #text(8pt)[#counter(page).display("1 of 1", both: true)]])))
#set text(size: 10.5pt)
#set table(stroke: 0.4pt, inset: 5pt)
#show heading: set block(sticky: true)
"""
_HEAD = """#grid(columns: (1fr, 26mm), [
= {title}
#d.maker \\ #d.address
], image(bytes(d.qr), format: "svg", width: 26mm))
#table(columns: (45mm, 1fr), [VIN], [*#d.vin*], [Trailer], [#d.model],
[Order], [#d.order], [For], [#d.owner], [Boat], [#d.hull])
"""
DUTY = """#v(4mm) #rect(width: 100%, inset: 8pt)[This sheet is the maker's own and his responsibility. It is no
approval; approval belongs to the authority and a qualified person.]
"""


def _head(title: str) -> str:
    return _A4 + _HEAD.replace("{title}", title)


BUILD_SHEET = "build-sheet"
CLOSING = {"data-sheet": DUTY}
"""What is always set at the end of a paper, whatever its template says."""

ABOUT = {
    "plate": "Serial plate: maker, VIN, masses. Printed on the plate's own material, 100 × 60 mm.",
    "label": "Label for the kit and the frame: order, model, owner, code to scan. 70 × 35 mm.",
    "data-sheet": "Data sheet for the certificate of conformity, for whoever registers the trailer.",
    "hand-over": "Hand-over pack, first sheet: cautions before the first drive, what is fitted, who signs.",
    "delivery-note": "Delivery note, signed where the trailer is left.",
    "inspection": "Inspection record: every check with its value and limits.",
    "build-sheet": "Build sheet for the bay: set-up drawing, supports, torques, wiring.",
}
"""What each paper is, for whom."""

TEMPLATES: dict[str, str] = {
    "plate": """#set page(width: 100mm, height: 60mm, margin: 5mm)
#set text(size: 9pt)
#rect(width: 100%, height: 100%, inset: 4mm)[
#grid(columns: (1fr, 24mm), [*#d.maker* \\ #d.address #v(2mm) #text(size: 11pt, weight: "bold")[#d.vin] \\
No. #d.number #v(2mm)
Maximum mass #h(1fr) #d.max_mass kg \\ Axles #h(1fr) #d.axles], image(bytes(d.qr), format: "svg", width: 24mm))]
""",
    "label": """#set page(width: 70mm, height: 35mm, margin: 3mm)
#set text(size: 8pt)
#grid(columns: (1fr, 26mm), [*Order #d.order* \\ #d.model \\ #d.owner #v(1mm) #d.vin],
image(bytes(d.qr), format: "svg", width: 26mm))
""",
    "data-sheet": _head("Certificate of conformity: data sheet")
    + """#v(3mm)
#table(columns: (1fr, 45mm), [Maximum mass], [#d.max_mass kg],
[Mass of the trailer, worked out], [#d.own_mass kg],
[Axles], [#d.axles],
[Brakes], [#d.braked], [Length], [#d.length mm], [Width], [#d.width mm], [Finish], [#d.finish], [Model year], [#d.year])
""",
    "hand-over": _head("Hand-over")
    + """
== Before you drive
- Re-torque the wheel nuts after the first 50 km, and after every change of a wheel (common practice, no source).
- Hitch up: coupling locked, indicator seen, breakaway cable or chain on, plug in, all lamps looked at.
- Strap the boat down, bow to the stop; look at the straps after the first few kilometres.
- Nose load within the limit of coupling and car. Load no more than the plate permits.
- Towing limits, licences, speed and inspection duties are local law: ask before you drive.
- After salt water: rinse brakes and hubs with fresh water.
- Never lie under a trailer that is not propped, with its wheels chocked.
== Set for this boat
#table(columns: (1fr, 45mm), ..d.setup.map(pair => ([#pair.at(0)], [#pair.at(1)])).flatten())
== Handed over
#table(columns: (1fr, 1fr), [By, date: #v(9mm)], [To, date: #v(9mm)])
""",
    "delivery-note": _head("Delivery note")
    + """
#v(3mm) To: #d.owner, #d.place
#table(columns: (15mm, 1fr), [*1*], [Trailer #d.model, VIN #d.vin, #d.finish], [*1*], [Folder with papers])
#v(8mm) Received in good order, date, name: #v(10mm) #line(length: 70%)
""",
    "inspection": _head("Inspection record")
    + """
#v(3mm) #d.signed
#table(columns: (1fr, 25mm, 20mm, 30mm), table.header([*Looked at*], [*Found*], [*Result*], [*Who*]),
..d.checks.map(row => row.map(cell => [#cell])).flatten())
""",
    BUILD_SHEET: _A4
    + """#grid(columns: (1fr, 22mm), [
= Build sheet, order #d.order
#d.model · #d.finish · #d.owner · boat #d.hull \\ bay: #box(width: 20mm, line(length: 100%, stroke: 0.4pt))
], image(bytes(d.order_qr), format: "svg", width: 22mm))
#image(bytes(d.drawing), format: "svg", width: 100%)
#text(8pt)[Dimensions in mm behind the centre of the coupling. Weigh the nose with the boat on before it leaves.]

*Prop the chassis* on stands on both sides before you go under it; a jack alone is not a prop (common practice, no
source).
#grid(columns: (1fr, 1fr), gutter: 6mm, [
== Set-up
#table(columns: (1fr, auto), ..d.setup.flatten().map(cell => [#cell]))
], [
== Ordered
#table(columns: (1fr, auto), ..d.choices.flatten().map(cell => [#cell]))
])
#if d.note != "" [*Note:* #d.note]
== Coloured parts
#table(columns: (1fr, 1fr, auto, auto), table.header([*Into*], [*Part*], [*Colour*], [*Pieces*]),
..d.coloured.flatten().map(cell => [#cell]))
== Torques
#table(columns: (1fr, 1fr, auto, auto, auto), table.header([*Joint*], [*Fastener*], [*Pieces*], [*N·m*], []),
..d.torques.map(row => row.map(cell => [#cell]) + (box(width: 3mm, height: 3mm, stroke: 0.5pt),)).flatten())
#text(8pt)[#d.torque_sources. Zinc, oil and paste change a torque by a fifth and more: the maker of the part decides.]
== Wiring: #d.plug
#table(columns: (auto, 1fr, auto, auto), table.header([*Contact*], [*Carries*], [*Core*], [*mm²*]),
..d.wiring.flatten().map(cell => [#cell]))
== Numbers read off
#table(columns: (1fr, auto, 1fr), table.header([*Part*], [*Pieces*], [*Numbers*]),
..d.numbers.flatten().map(cell => [#cell]))
""",
}

OF_A_WEEK = tuple(kind for kind in TEMPLATES if kind != BUILD_SHEET)
"""The six papers that every trailer gets."""

PACK = "hand-over-pack"
PACKED = ("hand-over", "data-sheet", "inspection", "delivery-note")
"""The hand-over pack: these papers behind one another, as one document."""

FIELDS = (
    ("maker", "the maker's name"),
    ("address", "the maker's address, in one line"),
    ("vin", "the VIN on the plate, or that there is none yet"),
    ("number", "the plate's number"),
    ("year", "the model year on the plate"),
    ("order", "the order's number"),
    ("model", "the trailer's model"),
    ("max_mass", "its maximum mass, kg"),
    ("own_mass", "its own mass as worked out from the bill, kg"),
    ("axles", "how many axles"),
    ("braked", "braked or unbraked"),
    ("length", "length, mm"),
    ("width", "width, mm"),
    ("finish", "the finish"),
    ("owner", "who ordered it"),
    ("place", "his place"),
    ("hull", "the boat"),
    ("today", "the day on which the paper is made"),
    ("signed", "who signed the inspection, and when"),
    ("setup", "rows of set-up: words, figure"),
    ("checks", "rows of the inspection: what, found, result, who"),
    ("qr", "a QR code with the VIN, to be set as an image"),
    ("order_qr", "a QR code that opens the order"),
)
"""What every template may name, in words; a build sheet has more, which stand in its text."""
