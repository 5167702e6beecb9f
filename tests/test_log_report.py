"""What the command line prints of a log: the numbers of the layers, a plot on the same scale, plain values for JSON."""

import json
from pathlib import Path

import pytest
from test_log_layers import THREE, log_of

from basecalc.ground.cone_layers import designs
from basecalc.ground.cone_log_file import read_cone_log
from basecalc.ground_report import WIDTH, log_numbers, log_text

EXAMPLE = Path(__file__).parent.parent / "examples" / "cone-log.csv"


def plot_of(text: str) -> list[str]:
    lines = text.splitlines()
    start = next(place for place, line in enumerate(lines) if "CBR, %" in line and "depth" in line)
    return lines[start : next(place for place, line in enumerate(lines) if line.startswith("  # the layer"))]


def test_layers_are_printed_with_the_one_to_design_for() -> None:
    log = log_of(THREE)
    text = log_text(log, designs(log, "sand", 0.1))
    rows = [line.split() for line in text.splitlines() if line[:3].strip().isdigit() and "+" not in line]
    assert [row[:6] for row in rows] == [
        ["1", "0", "7.1", "30", "6", "39"],
        ["2", "7.1", "16.5", "12", "20", "10"],
        ["3", "16.5", "30.7", "6", "60", "3"],
    ]
    assert [row[-1] == "design" for row in rows] == [False, False, True]
    assert "design CBR 3 %" in text
    assert all(len(line) <= WIDTH for line in text.splitlines())
    assert text.isascii()


def test_the_plot_has_a_bar_for_every_depth_as_long_as_its_layer_is_strong() -> None:
    log = log_of(THREE)
    scale, *bars, _ = plot_of(log_text(log, designs(log, "sand", 0.1)))
    ends = [len(bar.rstrip()) for bar in bars]
    assert len(bars) == 31  # inches
    assert len(set(ends[:7])) == len(set(ends[8:16])) == len(set(ends[17:])) == 1
    assert ends[0] > ends[10] > ends[20]
    for bar, mark in ((bars[10], "10"), (bars[20], "2")):
        assert abs(len(bar) - scale.index(f" {mark} ") - 2) <= (0 if mark == "10" else 7)
    inside = [place for place, bar in enumerate(bars) if "*" in bar]
    assert inside == list(range(4, 28))  # from 3.9 in, 24 in down
    metric = plot_of(log_text(log, designs(log), "mm"))
    assert metric[-1].split() == ["780"]
    assert len(metric) == 2 + 32  # every 25 mm


def test_what_was_assumed_and_what_stands_out_is_printed() -> None:
    log = read_cone_log(EXAMPLE)
    text = " ".join(log_text(log, designs(log, "clay")).split())
    assert "The cone stopped in row 35" in text
    assert "Row 15 was driven through two layers" in text
    assert "Weakest of the 2 drops: gate" in text
    assert "licensed engineer" in text


def test_numbers_are_plain_values() -> None:
    log = read_cone_log(EXAMPLE)
    made = designs(log, "clay", 0.3)
    numbers = json.loads(json.dumps(log_numbers(log, made), allow_nan=False))
    gate = numbers["drops"][0]
    assert (gate["drop"], gate["depth_mm"], gate["depth_in"]) == ("gate", 763, pytest.approx(763 / 25.4))
    assert gate["design_cbr_percent"] == made[0].cbr
    assert [layer["to_mm"] for layer in gate["layers"]] == [141, 365, 618, 763]
    assert [layer["design"] for layer in gate["layers"]] == [False, False, True, False]
    assert sum(reading["blows"] for reading in gate["readings"]) == sum(layer["blows"] for layer in gate["layers"])
    assert gate["zone_in"] == [pytest.approx(300 / 25.4), pytest.approx(300 / 25.4 + 24)]
    assert numbers["comments"][0] == {
        "row": 1,
        "text": "Two drops of a cone penetrometer on an invented plot, 8 kg hammer",
    }
