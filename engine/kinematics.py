"""How long a plate takes: scan lines at a speed, with room to turn at both ends."""

import math


def overtravel_mm(speed_mm_s: float, acceleration_mm_s2: float) -> float:
    """The way beyond each end of a line to come to speed: v^2 / (2 a)."""
    return speed_mm_s**2 / (2.0 * acceleration_mm_s2)


def line_time_s(width_mm: float, speed_mm_s: float, acceleration_mm_s2: float) -> float:
    """One line, burnt in both directions: the width at speed, and a stop and start, w/v + 2 v/a."""
    return width_mm / speed_mm_s + 2.0 * speed_mm_s / acceleration_mm_s2


def move_time_s(way_mm: float, speed_mm_s: float, acceleration_mm_s2: float) -> float:
    """A move from rest to rest: w/v + v/a, or 2 sqrt(w/a) where full speed is never reached."""
    if way_mm >= speed_mm_s**2 / acceleration_mm_s2:
        return way_mm / speed_mm_s + speed_mm_s / acceleration_mm_s2
    return 2.0 * math.sqrt(way_mm / acceleration_mm_s2)


def plate_time_s(
    width_mm: float,
    lines: int,
    speed_mm_s: float,
    acceleration_mm_s2: float,
    both_directions: bool,
) -> float:
    """All lines of a plate; one way only, the head travels back between them."""
    line = line_time_s(width_mm, speed_mm_s, acceleration_mm_s2)
    if both_directions:
        return lines * line
    way = width_mm + 2.0 * overtravel_mm(speed_mm_s, acceleration_mm_s2)
    return lines * (line + move_time_s(way, speed_mm_s, acceleration_mm_s2))
