"""The closed loop on virtual sheets: lightness error with the measured profile and without."""

from collections.abc import Iterator

from table import Row

from tests import virtual_loop
from tests.virtual_sheet import SETTINGS, SHEETS


def loop_rows(tiny: bool) -> Iterator[Row]:
    """Mean error in L* at 450 mm; the note has the untuned chain's and how many times less."""
    size = (20.0, 24.0) if tiny else (90.0, 112.0)
    for name, sheet in list(SHEETS.items())[: 1 if tiny else None]:
        for screen, least in virtual_loop.SCREENS.items():
            setting = SETTINGS[name][least]
            for shown in virtual_loop.PHOTOS:
                found = virtual_loop.trial(sheet, setting, screen, virtual_loop.photo(shown), size)
                note = (
                    f"grain alone {found.grain:.2f}; untuned {found.untuned:.2f}, "
                    f"{found.ratio:.1f} times less"
                )
                yield Row(f"{name}, {screen}, {shown}", found.tuned, "L*", 1.0, note=note)


def modulation_rows(tiny: bool) -> Iterator[Row]:
    """What is missing at 2 cycles/mm, down the rows and along them; the note says before."""
    for name, sheet in list(SHEETS.items())[: 1 if tiny else None]:
        for screen, least in virtual_loop.SCREENS.items():
            for down in (True, False):
                before, after = (
                    virtual_loop.modulation(
                        sheet, SETTINGS[name][least], screen, 2.0, down=down, strength=strength
                    )
                    for strength in (0.0, 1.0)
                )
                what = f"2 cycles/mm {'down' if down else 'along'}: {name}, {screen}"
                note = f"shown {after:.2f} of the look's, without compensation {before:.2f}"
                yield Row(what, 100.0 * abs(1.0 - after), "%", 10.0, note=note)
