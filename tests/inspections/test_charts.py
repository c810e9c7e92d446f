"""The trend picture, read back as XML: like joined with like only, and every shape with its words."""

import re
from datetime import UTC, datetime, timedelta
from xml.etree import ElementTree

import pytest

from inspections import charts

START = datetime(2022, 6, 1, tzinfo=UTC)
NS = {"s": ""}


def plotted(
    year: int,
    value: float | None,
    *,
    method: str = "four-wire",
    outcome: str = "within limit",
    words: str = "",
) -> charts.Plotted:
    return charts.Plotted(
        START + timedelta(days=365 * year),
        value,
        0.05 if value else None,
        method,
        outcome,
        words or f"{value}",
    )


def drawn(
    *readings: charts.Plotted, limit: float | None = 6.0, not_read: tuple[charts.NotRead, ...] = ()
) -> ElementTree.Element:
    drawing = charts.Drawing(
        "Point 14, <b>resistance</b>", "mΩ", limit, "6.0 mΩ" if limit else "", readings, not_read
    )
    return ElementTree.fromstring(charts.trend(drawing))


def joined(svg: ElementTree.Element) -> list[int]:
    """How many readings each line of the history joins."""
    return [
        path.get("d", "").count("L") + 1
        for path in svg.iter("path")
        if path.get("stroke-width") == "2" and "L" in path.get("d", "")
    ]


def texts(svg: ElementTree.Element) -> list[str]:
    return [(text.text or "").replace("\u00a0", " ") for text in svg.iter("text")]


def test_it_joins_readings_by_the_same_method_only() -> None:
    svg = drawn(
        plotted(0, 3.0),
        plotted(1, 7.2, method="two-wire"),
        plotted(2, 3.4),
        plotted(3, 3.7),
        plotted(4, 8.0, method="two-wire"),
    )
    assert sorted(joined(svg)) == [2, 3]


def test_it_draws_no_line_through_a_reading_without_a_value() -> None:
    svg = drawn(plotted(0, 3.0), plotted(1, None, outcome="above limit", words="OL"))
    assert joined(svg) == []
    assert "OL" in texts(svg)
    assert [use.get("href") for use in svg.iter("use")] == ["#m-above"]


def test_it_labels_limit_baseline_and_last() -> None:
    svg = drawn(*(plotted(year, 3.0 + year / 10) for year in range(20)))
    assert "limit 6.0 mΩ" in texts(svg)
    figures = [words for words in texts(svg) if "." in words and "limit" not in words]
    assert figures == ["4.9", "baseline 3.0"]


def test_it_marks_each_visit_without_reading_by_its_reason() -> None:
    reasons = (
        charts.NotRead(START + timedelta(days=100), "not accessible"),
        charts.NotRead(START + timedelta(days=500), "access refused"),
    )
    svg = drawn(plotted(0, 3.0), not_read=reasons)
    assert [use.get("href") for use in svg.iter("use")] == ["#m-noaccess", "#m-refused"]


def test_it_tells_the_outcomes_apart_by_shape() -> None:
    def shape(outcome: str) -> list[str]:
        svg = drawn(plotted(0, 3.0, outcome=outcome))
        return [
            element.tag
            for element in svg.iter()
            if "fill-" in (element.get("class") or "") and element.tag != "text"
        ]

    shapes = [
        tuple(shape(outcome))
        for outcome in ("within limit", "above limit", "cannot be judged", "for information")
    ]
    assert shapes == [("circle",), ("path",), ("circle",), ("circle", "circle")]


def test_it_says_in_words_what_it_shows() -> None:
    svg = drawn(plotted(0, 3.0), plotted(1, 3.4), not_read=(charts.NotRead(START, "not tested"),))
    assert svg.get("role") == "img"
    named = [element.get("id") for element in svg if element.tag in ("title", "desc")]
    assert (svg.get("aria-labelledby") or "").split() == named
    desc = svg.find("desc")
    assert desc is not None and desc.text == (
        "2 readings by four-wire: 3.0 in Jun 2022 to 3.4 in Jun 2023, in mΩ unless said otherwise. "
        "Not read at 1 visit. The limit is 6.0 mΩ."
    )


def test_it_holds_neither_style_nor_script_and_escapes_words() -> None:
    markup = charts.trend(charts.Drawing("<script>", "mΩ", 6.0, "6 <i>", [plotted(0, 3.0, words="<b>")]))
    assert not re.search(r"style=|<script|<b>|<i>|javascript|url\(", markup)


@pytest.mark.parametrize("value", [0.0, 1e-9, 0.005, 9.99, 12345.6])
def test_it_keeps_everything_on_the_drawing(value: float) -> None:
    svg = drawn(plotted(0, value), plotted(3, value * 2), limit=None)
    width, height = (float(number) for number in (svg.get("viewBox") or "").split()[2:])
    for circle in svg.iter("circle"):
        assert 0 <= float(circle.get("cx", "")) <= width and 0 <= float(circle.get("cy", "")) <= height
    assert texts(svg)


def test_it_draws_a_single_reading() -> None:
    assert len(list(drawn(plotted(0, 3.0)).iter("circle"))) == 1


def test_it_never_draws_more_than_ten_days_on_the_axis() -> None:
    assert len(charts.ticks(datetime(1960, 1, 1, tzinfo=UTC), datetime(2027, 1, 1, tzinfo=UTC))) <= 10
    assert 1 <= len(charts.ticks(START, START + timedelta(days=40))) <= 6


def band(**more: object) -> charts.Band:
    end = START + timedelta(days=365 * 5)
    told = {"crossing": START + timedelta(days=365 * 4), "words": "about Jun 2026", **more}
    return charts.Band(START, end, (3.0, 8.0), (3.2, 6.0), (2.8, 40.0), **told)  # type: ignore[arg-type]


def test_the_drift_is_drawn_as_a_band_with_its_month_and_nothing_of_it_leaves_the_drawing() -> None:
    drawing = charts.Drawing("Point 14", "mΩ", 6.0, "6.0 mΩ", [plotted(0, 3.0), plotted(3, 5.0)], band=band())
    svg = ElementTree.fromstring(charts.trend(drawing))
    [inner] = [element for element in svg if element.tag == "svg"]
    assert {path.get("class") for path in inner} == {"fill-line", "soft"}
    # What lies beyond the drawing is cut off by the inner picture's own edges, which are those of the plot.
    assert inner.get("viewBox") == " ".join(inner.get(name, "") for name in ("x", "y", "width", "height"))
    assert "about Jun 2026" in texts(svg)
    desc = svg.find("desc")
    assert desc is not None and "The line of the drift passes the limit about Jun 2026." in (desc.text or "")


def test_a_band_without_a_month_names_none() -> None:
    drawing = charts.Drawing(
        "Point 14",
        "mΩ",
        6.0,
        "6.0 mΩ",
        [plotted(0, 3.0), plotted(3, 5.0)],
        band=band(crossing=None, words=""),
    )
    assert not [words for words in texts(ElementTree.fromstring(charts.trend(drawing))) if "about" in words]


def test_lines_end_where_a_new_series_begins_and_it_is_named() -> None:
    rows = [plotted(year, 3.0 + year / 10) for year in range(5)]
    drawing = charts.Drawing("Point 14", "mΩ", 6.0, "6.0 mΩ", rows, splits=[(rows[2].at, "repair")])
    svg = ElementTree.fromstring(charts.trend(drawing))
    assert joined(svg) == [2, 3] and "repair" in texts(svg)


def test_a_moved_baseline_and_the_former_one_are_both_named() -> None:
    rows = [
        charts.Plotted(START, 3.0, None, "four-wire", "within limit", "3.0", charts.FORMER_BASELINE),
        charts.Plotted(
            START + timedelta(days=900), 4.0, None, "four-wire", "within limit", "4.0", charts.BASELINE
        ),
        charts.Plotted(START + timedelta(days=1800), 4.4, None, "four-wire", "within limit", "4.4"),
    ]
    svg = ElementTree.fromstring(charts.trend(charts.Drawing("Point 14", "mΩ", 6.0, "6.0 mΩ", rows)))
    assert "former baseline 3.0" in texts(svg) and "baseline 4.0" in texts(svg)
