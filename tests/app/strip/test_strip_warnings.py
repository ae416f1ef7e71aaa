"""What makes a strip or its photo doubtful is told where the user decides, in the window and by the
command."""

import json

import attrs
import pytest
from PySide6.QtCore import Qt

from app.command import run
from engine.strip.judge import Judgement
from tests import bad_photos as bad
from tests import strip_in_a_folder as strips
from tests.app.strip.parts import press, ranked


@pytest.fixture
def hazy(folder):
    """A photo over which a veil of light lies."""
    photo = bad.veiled(strips.photographed(folder / "strip"), 0.06)
    return strips.save_jpeg(folder / "hazy.jpg", photo)


@pytest.fixture
def exchanged(folder):
    """A photo of a strip that was burnt the wrong way round."""
    return strips.save_jpeg(
        folder / "exchanged.jpg", strips.photographed_exchanged(folder / "strip")
    )


def test_a_veil_is_warned_of_while_reading_and_while_choosing(page, hazy, qtbot):
    page.take_photo(hazy)
    ranked(page, qtbot)
    assert page.read.warnings.isVisible()
    assert "haze" in page.read.warnings.text()
    assert page.read.warnings.property("role") == "warning"
    press(qtbot, page.next)
    assert page.choose.warnings.isVisible()
    assert page.choose.warnings.text() == page.read.warnings.text()


def test_one_good_photo_is_taken_on_trust_and_two_are_not_warned_of(read_page, folder, qtbot):
    page = read_page
    assert "taken as plain sRGB" in page.read.warnings.text()
    photo = strips.photographed_darker(folder / "strip")
    page.take_darker(strips.save_jpeg(folder / "darker.jpg", photo, (1, 100)))
    ranked(page, qtbot)
    assert not page.read.warnings.isVisible()
    press(qtbot, page.next)
    assert not page.choose.warnings.isVisible()


def test_a_strip_whose_settings_are_all_weak_is_told_of(page, folder, qtbot, capsys):
    strip = page._work.strip
    readings = {n: _growing(strip, p) for n, p in enumerate(strip.patches) if p.kind in FROSTED}
    for patch, value in readings.items():
        page._work.correct(patch, value)
    ranked(page, qtbot)
    page.go_to("choose")
    assert "Frost still grows with power" in page.choose.warnings.text()
    typed = folder / "readings.txt"
    typed.write_text("\n".join(f"{patch + 1},{value}" for patch, value in readings.items()))
    words = ["--strip", str(folder / "strip" / "strip.json"), "-o", str(folder / "glass.json")]
    assert run(["strip", "read", "--readings", str(typed), "--unit", "frost", *words]) == 0
    assert "Warning: Frost still grows with power" in capsys.readouterr().err


FROSTED = ("bare", "solid", "power")


def _growing(strip, patch):
    """A frost in proportion to the power above a threshold."""
    run = strip.runs[patch.run]
    power = run.power_min_pct + (run.power_max_pct - run.power_min_pct) * patch.drive
    return 0.0 if patch.kind == "bare" else round(max(power - 10.0, 0.0) / 100.0, 4)


def test_exchanged_runs_are_named_and_give_no_profile(page, exchanged, qtbot):
    page.take_photo(exchanged)
    ranked(page, qtbot)
    page.go_to("choose")
    assert "Runs 1 and 2 look as if" in page.choose.state.text()
    assert not page.choose.use.isEnabled()


def test_a_setting_without_a_mark_cannot_be_picked(read_page, qtbot):
    work, page = read_page._work, read_page.choose
    found = work.judgement
    idle = attrs.evolve(found.verdicts[1], marks=False, reason="It leaves no mark on this glass.")
    shown = Judgement((found.verdicts[0], idle), found.chosen, found.overruled, "")
    ranking = work._ranking
    ranking._was_ranked(attrs.evolve(ranking._ranked, judgement=shown))
    read_page.go_to("choose")
    chosen = work.chosen
    row = page.list.visualItemRect(page.list.item(1))
    qtbot.mouseClick(page.list.viewport(), Qt.MouseButton.LeftButton, pos=row.center())
    qtbot.keyClick(page.list, Qt.Key.Key_Down)
    assert work.chosen == chosen
    assert "no mark" in page.list.item(1).text()
    assert "cannot be chosen" in page.list.item(1).text()


def test_the_command_warns_and_reports(folder, hazy, capsys):
    report = folder / "report.json"
    words = ["--strip", str(folder / "strip" / "strip.json"), "--report", str(report)]
    assert run(["strip", "read", str(hazy), "-o", str(folder / "glass.json"), *words]) == 0
    assert "Warning: A haze" in capsys.readouterr().err
    photo = json.loads(report.read_text())["photo"]
    assert photo["veil"] > 0.0
    assert photo["style"] == 0.0
    assert "haze" in photo["warnings"][0]


def test_the_command_refuses_exchanged_runs(folder, exchanged, capsys):
    words = ["--strip", str(folder / "strip" / "strip.json"), "-o", str(folder / "never.json")]
    assert run(["strip", "read", str(exchanged), *words]) == 2
    assert "Runs 1 and 2" in capsys.readouterr().err
    assert not (folder / "never.json").exists()
