"""The drawing of a load keeps to scale and inside its rows."""

import itertools

from hypothesis import given
from hypothesis import strategies as st

from production.coating.load_drawing import WIDTH, Piece, Readiness, draw

pieces = st.lists(
    st.builds(
        Piece,
        label=st.just("1042"),
        length_mm=st.integers(0, 9000),
        mass_kg=st.floats(0, 400),
        readiness=st.sampled_from(Readiness),
    ),
    max_size=60,
)


@given(pieces, st.integers(1000, 9000))
def test_every_long_part_is_drawn_once_to_one_scale_and_none_lies_on_another(parts, bath):
    drawing = draw(parts, bath_length_mm=bath, max_kg=2000, minimum_kg=500)

    long = sorted(part.length_mm for part in parts if part.length_mm)
    scale = WIDTH / max([bath, *long])
    drawn = sorted(bar.width for bar in drawing.bars)
    assert len(drawn) == len(long)
    assert all(abs(width - max(length * scale, 2)) < 0.2 for width, length in zip(drawn, long, strict=True))
    rows: dict[float, list[tuple[float, float]]] = {}
    for bar in drawing.bars:
        rows.setdefault(bar.y, []).append((bar.x, bar.width))
        assert bar.is_too_long or bar.x + bar.width <= drawing.bath_width + 2.2
        assert bar.y + bar.height <= drawing.height
    for row in rows.values():
        row.sort()
        assert all(x + width <= after + 2.2 for (x, width), (after, _) in itertools.pairwise(row))


@given(pieces)
def test_the_mass_bar_adds_up(parts):
    drawing = draw(parts, bath_length_mm=7000, max_kg=2000, minimum_kg=500)

    assert abs(sum(share.width for share in drawing.shares) - drawing.mass_percent) < 0.3
    assert drawing.minimum_percent == 25


def test_a_part_longer_than_the_bath_sticks_out_of_it():
    drawing = draw([Piece("1", 8000, 90, Readiness.READY)], bath_length_mm=7000, max_kg=2000, minimum_kg=0)

    assert drawing.bars[0].is_too_long
    assert drawing.bars[0].width > drawing.bath_width
