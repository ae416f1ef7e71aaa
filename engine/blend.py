"""How one tone is laid over another: the separable blend modes that glass work needs.

Source: W3C Compositing and Blending Level 1, section "Separable blend modes". In each, `b` is
the backdrop and `s` the source laid over it: tones 0..1 of any shapes that broadcast. Results
are 0..1; float32 stays float32.
"""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

Tones = NDArray[np.floating[Any]]


def multiply(b: ArrayLike, s: ArrayLike) -> Tones:
    """Both darken: b s."""
    b, s = _pair(b, s)
    return b * s


def screen(b: ArrayLike, s: ArrayLike) -> Tones:
    """Both lighten: b + s - b s."""
    b, s = _pair(b, s)
    return b + s - b * s


def hard_light(b: ArrayLike, s: ArrayLike) -> Tones:
    """Multiply where the source is dark, screen where it is light."""
    b, s = _pair(b, s)
    return np.where(s <= 0.5, multiply(b, 2 * s), screen(b, 2 * s - 1))


def overlay(b: ArrayLike, s: ArrayLike) -> Tones:
    """Hard light with backdrop and source swapped: the backdrop decides."""
    return hard_light(s, b)


def soft_light(b: ArrayLike, s: ArrayLike) -> Tones:
    """Darkens or lightens gently; a source of 0.5 changes nothing."""
    b, s = _pair(b, s)
    lighter = np.where(b <= 0.25, ((16 * b - 12) * b + 4) * b, np.sqrt(b))
    darker = b - (1 - 2 * s) * b * (1 - b)
    return np.where(s <= 0.5, darker, b + (2 * s - 1) * (lighter - b))


def dodge(b: ArrayLike, s: ArrayLike) -> Tones:
    """Lightens the backdrop to reflect the source; black stays black."""
    b, s = _pair(b, s)
    room = 1 - s
    full = b >= room
    quotient = np.divide(b, room, out=np.ones_like(b), where=~full)
    return np.where(b == 0, np.zeros_like(b), quotient)


def burn(b: ArrayLike, s: ArrayLike) -> Tones:
    """Darkens the backdrop to reflect the source; white stays white."""
    b, s = _pair(b, s)
    room = 1 - b
    full = room >= s
    quotient = np.divide(room, s, out=np.ones_like(b), where=~full)
    return np.where(b == 1, np.ones_like(b), 1 - quotient)


def _pair(b: ArrayLike, s: ArrayLike) -> tuple[Tones, Tones]:
    first, second = np.asarray(b), np.asarray(s)
    kind = np.float32 if first.dtype == second.dtype == np.float32 else np.float64
    first, second = np.broadcast_arrays(first.astype(kind), second.astype(kind))
    return first, second
