"""Conversions between the units that people use and millimetres. Nowhere else converts."""

import re

MM_PER_INCH = 25.4

_SIZE = re.compile(r"^\s*([0-9.,]+)\s*[xX\u00d7]\s*([0-9.,]+)\s*(mm|in|\")?\s*$")


def mm_from_inches(inches: float) -> float:
    """Inches to millimetres; 1 inch is 25.4 mm by definition (ISO 1000 / international inch)."""
    return inches * MM_PER_INCH


def inches_from_mm(mm: float) -> float:
    """Millimetres to inches."""
    return mm / MM_PER_INCH


def ppi_from_pitch(pitch_mm: float) -> float:
    """Pixels per inch of a pitch in mm."""
    return MM_PER_INCH / pitch_mm


def pitch_from_ppi(ppi: float) -> float:
    """Pitch in mm of a number of pixels per inch."""
    return MM_PER_INCH / ppi


def pixels_per_metre(pitch_mm: float) -> int:
    """Whole pixels per metre, as PNG and BMP store resolution."""
    return round(1000.0 / pitch_mm)


def pixel_count(length_mm: float, pitch_mm: float) -> int:
    """How many etch pixels (or scan lines) make up a length; at least one."""
    return max(1, round(length_mm / pitch_mm))


def percent(share: float, digits: int = 0) -> str:
    """A share of 1 as people read it, the sign apart from the number (ISO 80000-1)."""
    return f"{100.0 * share:.{digits}f} %"


def duration(minutes: int) -> str:
    """Whole minutes as people read them."""
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest} min" if hours else f"{rest} min"


def parse_number(text: str) -> float:
    """A decimal number with point or comma.

    Raises ValueError when the text is not one number.
    """
    if "_" in text:  # Python would take 1_5 for 15
        raise ValueError(f"not a number: {text!r}")
    return float(text.strip().replace(",", "."))


def parse_size_mm(text: str) -> tuple[float, float]:
    """Width and height in mm from text such as `90x120`, `90 x 120 mm` or `8x10in`.

    Raises ValueError when the text is not two numbers with an x between them.
    """
    match = _SIZE.match(text)
    if match is None:
        raise ValueError(f"not a size: {text!r}")
    width, height = parse_number(match[1]), parse_number(match[2])
    if match[3] in ("in", '"'):
        return mm_from_inches(width), mm_from_inches(height)
    return width, height
