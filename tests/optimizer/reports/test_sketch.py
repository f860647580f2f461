"""A toe curve drawn with characters."""

from optimizer.reports.sketch import AFTER, AXIS, BEFORE, BOTH, HALF_WIDTH, sketch

LABELS = ["-10", "0", "+10"]


def places(line: str, label_width: int = 3) -> dict[str, int]:
    """Columns from the axis of the marks in a sketched line."""
    drawing = line[label_width + 2 :]
    return {mark: drawing.index(mark) - HALF_WIDTH for mark in drawing if mark != " "}


def test_a_sketch_has_bump_on_top_and_toe_in_on_the_right():
    high, ride, low = sketch(LABELS, [-0.2, 0.0, 0.4], None)
    assert high.startswith("+10")
    assert low.startswith("-10")
    assert places(high) == {AXIS: 0, BEFORE: HALF_WIDTH}
    assert places(ride) == {BEFORE: 0}
    assert places(low) == {AXIS: 0, BEFORE: -HALF_WIDTH // 2}


def test_the_larger_of_both_curves_fills_the_width_whichever_it_is():
    high, _, _ = sketch(LABELS, [0.0, 0.0, 0.1], [0.0, 0.0, -0.4])
    assert places(high) == {AFTER: -HALF_WIDTH, AXIS: 0, BEFORE: HALF_WIDTH // 4}
    high, _, _ = sketch(LABELS, [0.0, 0.0, 0.4], [0.0, 0.0, -0.1])
    assert places(high) == {AFTER: -HALF_WIDTH // 4, AXIS: 0, BEFORE: HALF_WIDTH}


def test_two_curves_that_meet_share_one_mark():
    for line in sketch(LABELS, [0.1, 0.0, 0.1], [0.1, 0.0, 0.1]):
        assert BOTH in line
        assert BEFORE not in line
        assert AFTER not in line


def test_all_lines_of_a_sketch_are_equally_long_and_labels_stand_to_the_right():
    lines = sketch(["-100.0", "0.0", "+5.0"], [0.1, 0.0, -0.1], [0.0, 0.0, 0.0])
    assert len({len(line) for line in lines}) == 1
    assert [line[:6] for line in lines] == ["  +5.0", "   0.0", "-100.0"]


def test_a_wheel_that_keeps_its_toe_is_drawn_on_the_axis():
    for line in sketch(LABELS, [0.0, 0.0, 0.0], None):
        assert places(line) == {BEFORE: 0}
