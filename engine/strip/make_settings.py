"""The machine settings that a strip tries: checked, or stepped around a starting setting."""

import math

import attrs

from shared.errors import InputError
from shared.profile import GlassProfile, Machine
from shared.strip import Run

Pair = tuple[float, float]
"""Greatest and least power, %."""

MOST_RUNS = 24
LEAST_SPAN = 1.05
"""Greatest over least power: wedges between powers that lie closer tell nothing of the glass."""
SAME_PITCH = 1e-6
"""Share by which a pitch told in pixels per inch may differ from the same in mm."""
_STRONGER, _WEAKER = 1.3, 0.75
_LIFTS = (1.0, 1.25, 1.5)
_FASTER = 1.6
"""By so much that no two settings lay the same fluence, which would try the same thing twice."""


def starting_at(profile: GlassProfile, pitch_mm: float) -> GlassProfile:
    """The profile with a starting setting for scan lines so far apart.

    Its speed lays the same fluence as the profile's own setting, as far as the machine can: speed
    times pitch stays.
    """
    start = profile.setting
    if _same_pitch(pitch_mm, start.pitch_mm):
        return profile
    speed = _within(_tidy(start.speed_mm_s * start.pitch_mm / pitch_mm), profile.machine)
    return attrs.evolve(profile, setting=attrs.evolve(start, speed_mm_s=speed, pitch_mm=pitch_mm))


def default_pairs(profile: GlassProfile) -> tuple[Pair, ...]:
    """The starting setting's powers, and two pairs around them; within the machine's limits.

    The least powers differ too: which of them just begins to mark is what the strip shall tell.
    A starting setting whose greatest power does not rise above the least is lifted.
    """
    start, floor = profile.setting, profile.machine.firing_floor_pct
    least = max(start.power_min_pct, floor)
    greatest = start.power_max_pct
    if greatest < LEAST_SPAN * least:
        greatest = min(_round(_STRONGER * least), 100.0)
    wanted = [
        (greatest * share, least * lift)
        for share, lift in zip((1.0, _STRONGER, _WEAKER), _LIFTS, strict=True)
    ]
    pairs = [(min(_round(most), 100.0), max(_round(low), floor)) for most, low in wanted]
    pairs[0] = (greatest, least)
    steps = [pair for pair in pairs[1:] if pair[0] >= LEAST_SPAN * pair[1]]
    return tuple(dict.fromkeys([pairs[0], *steps]))


def default_speeds(profile: GlassProfile) -> tuple[float, ...]:
    """The starting speed, within the machine's limits, and a faster one, or a slower one where the
    machine is at its limit."""
    machine = profile.machine
    start = _within(profile.setting.speed_mm_s, machine)
    for speed in (start * _FASTER, start / _FASTER):
        tidy = _tidy(speed)
        if machine.slowest_mm_s <= tidy <= machine.fastest_mm_s and tidy != start:
            return start, tidy
    return (start,)


def checked_runs(
    pairs: tuple[Pair, ...], speeds: tuple[float, ...], profile: GlassProfile
) -> tuple[Run, ...]:
    """Every pair at every speed, in burning order, the starting setting first.

    The starting setting, which gets most patches and the markers, is the profile's if the grid has
    it, else the one whose fluence comes nearest to that. Settings that read alike on the strip are
    one. Raises InputError for what the machine cannot do.
    """
    machine = profile.machine
    for pair in pairs:
        _check_powers(*pair, machine)
    for speed in speeds:
        _check_speed(speed, machine)
    every = ((most, least, speed) for speed in speeds for most, least in pairs)
    grid = {f"{most:g}-{least:g}_{speed:g}": (most, least, speed) for most, least, speed in every}
    if not 1 <= len(grid) <= MOST_RUNS:
        raise InputError(
            f"A strip holds 1 to {MOST_RUNS} settings and this grid has {len(grid)}; "
            "ask for fewer powers or speeds."
        )
    own = profile.setting
    start = (own.power_max_pct, own.power_min_pct, own.speed_mm_s)
    first = min(grid.values(), key=lambda setting: (setting != start, _apart(setting, start)))
    ordered = sorted(grid.items(), key=lambda named: named[1] != first)
    return tuple(
        Run(f"run{number:02d}_{name}.png", *setting, (0.0, 0.0))
        for number, (name, setting) in enumerate(ordered, start=1)
    )


def _within(speed_mm_s: float, machine: Machine) -> float:
    return min(max(speed_mm_s, machine.slowest_mm_s), machine.fastest_mm_s)


def _tidy(speed_mm_s: float) -> float:
    return 10.0 * round(speed_mm_s / 10.0) if speed_mm_s > 50.0 else round(speed_mm_s, 1)


def _apart(one: tuple[float, float, float], other: tuple[float, float, float]) -> float:
    """How far the fluences of two settings are apart, as a logarithm."""
    return abs(math.log(one[0] / one[2]) - math.log(other[0] / other[2]))


def profile_of_run(profile: GlassProfile, run: Run, pitch_mm: float) -> GlassProfile:
    """The profile at a run's setting; dot gains that were measured at another one do not hold."""
    own = profile.setting
    alike = run.setting_from(own, own.pitch_mm) == own and _same_pitch(pitch_mm, own.pitch_mm)
    changed = attrs.evolve(profile, setting=run.setting_from(own, pitch_mm))
    return changed if alike else attrs.evolve(changed, gains=())


def _same_pitch(one_mm: float, other_mm: float) -> bool:
    return math.isclose(one_mm, other_mm, rel_tol=SAME_PITCH)


def _check_powers(most: float, least: float, machine: Machine) -> None:
    floor = machine.firing_floor_pct
    if not (0.0 < most <= 100.0 and least >= 0.0):
        raise InputError(f"Powers lie between 0 and 100 %; {most:g}/{least:g} does not.")
    if least >= most:
        raise InputError(
            f"In {most:g}/{least:g} the least power is not below the greatest; "
            "write the greatest first."
        )
    if least < floor:
        raise InputError(
            f"The least power of {most:g}/{least:g} lies below the firing floor of {floor:g} %, "
            "where the tube does not fire; raise it, or say the machine's true floor."
        )
    _check_span(most, least, floor)


def _check_span(most: float, least: float, floor: float) -> None:
    if most >= LEAST_SPAN * least:
        return
    lower = math.floor(10.0 * most / LEAST_SPAN) / 10.0
    such = (most, lower) if lower >= floor else (math.ceil(10.0 * LEAST_SPAN * floor) / 10.0, floor)
    raise InputError(
        f"In {most:g}/{least:g} the powers lie too close together to learn from; make the "
        f"greatest at least {LEAST_SPAN:g} times the least, such as {such[0]:g}/{such[1]:g}."
    )


def _check_speed(speed: float, machine: Machine) -> None:
    if not machine.slowest_mm_s <= speed <= machine.fastest_mm_s:
        raise InputError(
            f"The speed {speed:g} mm/s is beyond this machine's {machine.slowest_mm_s:g} to "
            f"{machine.fastest_mm_s:g} mm/s; choose another one, or a profile of your machine."
        )


def _round(power: float) -> float:
    return float(round(power)) if power >= 20.0 else round(2.0 * power) / 2.0
