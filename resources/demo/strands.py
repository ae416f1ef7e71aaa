"""Fur and yarn as bundles of strands, grown with numpy alone (lengths in cm)."""

from dataclasses import dataclass

import numpy as np
from puppy_shape import (
    EYE_AXES,
    EYE_CENTRES,
    EYE_RADIUS,
    LID_WIDTH,
    NOSE_CENTRE,
    NOSE_RADII,
    Coat,
    coat_at,
    lid_height,
    scatter_roots,
    smoothstep,
    torso,
)

LOOSE_SHARE = 0.13
STEPS = 16


@dataclass(frozen=True)
class Bundle:
    """Strands: points N x K x 3, radius N x K and one tint (0 to 1) for each strand."""

    points: np.ndarray
    radius: np.ndarray
    tint: np.ndarray


def grow_fur(count: int, locks: int, rng: np.random.Generator) -> Bundle:
    """The puppy's coat: `count` hairs drawn together into `locks` curls, kept off eyes and nose."""
    roots = scatter_roots(count, rng)
    heads = scatter_roots(locks, rng)
    coat, lock_coat = coat_at(roots), coat_at(heads)
    lock = _nearest(roots + rng.normal(scale=0.05, size=roots.shape), heads)
    loose = rng.random(len(roots)) < LOOSE_SHARE
    length = coat.length * rng.uniform(0.72, 1.0, len(roots))
    length *= (0.8 + 0.4 * rng.random(len(heads)))[lock]
    t = np.linspace(0.0, 1.0, STEPS)

    tight = _curls(lock_coat, rng, wander=0.32)
    free = _curls(coat, rng, wander=0.5)
    pull = 0.85 * t[None, :, None] ** 0.8
    offset = roots - heads[lock]
    shared = _path(tight, lock, length, t) - offset[:, None, :] * pull
    own = _path(free, np.arange(len(roots)), length * 1.05, t)
    share = np.where(loose, 0.25, 0.86)[:, None, None]
    points = roots[:, None, :] + share * shared + (1.0 - share) * own
    keep = _clear_of_face(points)
    thick = np.where(loose, 0.0035, 0.0045)[:, None] * (1.0 - 0.65 * t[None, :] ** 2)
    tint = np.clip(
        coat.tint
        + rng.normal(scale=0.12, size=len(roots))
        + rng.normal(scale=0.10, size=len(heads))[lock],
        0.0,
        1.0,
    )
    return Bundle(points[keep], thick[keep], tint[keep])


@dataclass(frozen=True)
class _Curls:
    direction: np.ndarray
    side: np.ndarray
    curl: np.ndarray
    phase: np.ndarray
    turns: np.ndarray


def _curls(coat: Coat, rng: np.random.Generator, wander: float) -> _Curls:
    n = len(coat.length)
    direction = (
        coat.direction
        + rng.normal(scale=wander, size=(n, 3)) * np.minimum(1.0, coat.length)[:, None]
    )
    direction += 0.25 * coat.normal
    direction /= np.linalg.norm(direction, axis=1, keepdims=True)
    side = np.cross(direction, rng.normal(size=(n, 3)))
    side /= np.linalg.norm(side, axis=1, keepdims=True)
    return _Curls(
        direction=direction,
        side=side,
        curl=coat.curl * rng.uniform(0.6, 1.3, n),
        phase=rng.uniform(0.0, 2.0 * np.pi, n),
        turns=rng.uniform(0.6, 1.05, n) * rng.choice((-1.0, 1.0), n),
    )


def _path(curls: _Curls, index: np.ndarray, length: np.ndarray, t: np.ndarray) -> np.ndarray:
    """Offsets (N x K x 3) from the root along a drooping axis with a helix round it."""
    way = length[:, None] * t[None, :]
    droop = -0.10 * way**2
    path = way[..., None] * curls.direction[index][:, None, :]
    path[..., 2] += droop
    turn = curls.phase[index][:, None] + 2.0 * np.pi * curls.turns[index][:, None] * way
    size = curls.curl[index][:, None] * smoothstep(0.0, 0.7, way)
    side = curls.side[index]
    other = np.cross(curls.direction[index], side)
    path += (size * np.cos(turn))[..., None] * side[:, None, :]
    path += (size * np.sin(turn))[..., None] * other[:, None, :]
    return path


def _nearest(points: np.ndarray, targets: np.ndarray) -> np.ndarray:
    """Index of the nearest target for each point, in slices that fit in memory."""
    half = 0.5 * np.sum(targets**2, axis=1)
    parts = np.array_split(points, max(1, len(points) // 4000))
    return np.concatenate([np.argmax(p @ targets.T - half, axis=1) for p in parts])


def _clear_of_face(points: np.ndarray) -> np.ndarray:
    """True for the strands that leave the eyes open and the nose bare."""
    keep = np.ones(len(points), dtype=bool)
    for centre, axis in zip(EYE_CENTRES, EYE_AXES, strict=True):
        d = points - centre
        along = d @ axis
        side = d @ np.cross(axis, (0.0, 0.0, 1.0)) / EYE_RADIUS
        up = d[..., 2] / EYE_RADIUS
        opening = 0.94 * lid_height(side / LID_WIDTH, up > 0.0)
        keep &= ~np.any((along > 0.0) & (np.abs(up) < opening), axis=1)
    q = (points - NOSE_CENTRE) / (NOSE_RADII * 1.04)
    keep &= ~np.any((np.linalg.norm(q, axis=-1) < 1.0), axis=1)
    ahead = (points[..., 1] < NOSE_CENTRE[1]) & (np.linalg.norm(q[..., ::2], axis=-1) < 0.95)
    return keep & ~np.any(ahead, axis=1)


def knit_yarn(wales: int, rows: int, fibres: int, rng: np.random.Generator) -> list[Bundle]:
    """The coat in plain stocking stitch: each row one yarn of three plies, plus loose fuzz.

    One stitch is a turn of `s`: the yarn swings up and down the torso, leans over itself at the
    legs of the loop (the second harmonic) and comes forward there, so that the legs show as Vs.
    """
    half_span, row_height, steps = 2.3, 0.40, 16
    s = np.arange(wales * steps + 1) * (2.0 * np.pi / steps)
    across = s / (2.0 * np.pi) + 0.17 * np.sin(2.0 * s)
    angle = (across / wales - 0.5) * 2.0 * half_span
    lift = -0.10 * np.cos(2.0 * s)
    bundles = []
    for row in range(rows):
        wobble = 0.01 * np.sin(across * 1.7 + row * 2.1) + rng.normal(scale=0.004, size=s.shape)
        depth = 0.8 + row * row_height - row_height * np.cos(s) + wobble
        centre = _on_torso(angle, depth, lift)
        bundles += [_spin(centre, fibres, rng), _fuzz(centre, 30 * wales, rng)]
    return bundles


def _on_torso(angle: np.ndarray, depth: np.ndarray, lift: np.ndarray) -> np.ndarray:
    """Points K x 3 that stand `lift` cm off the torso's surface."""
    e = 1e-3
    p = torso(angle, depth)
    normal = np.cross(torso(angle, depth - e) - p, torso(angle + e, depth) - p)
    normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
    normal *= np.sign(
        np.sum(
            normal * np.stack([np.sin(angle), -np.cos(angle), 0.2 + 0 * angle], axis=-1),
            axis=-1,
            keepdims=True,
        )
    )
    return p + lift[..., None] * normal


def _frame(centre: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Two unit vectors (K x 3) across a line K x 3 and across each other."""
    tangent = np.gradient(centre, axis=0)
    tangent /= np.linalg.norm(tangent, axis=1, keepdims=True)
    out = np.cross(tangent, (0.0, 0.0, 1.0))
    out /= np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-6)
    return out, np.cross(tangent, out)


def _spin(centre: np.ndarray, fibres: int, rng: np.random.Generator) -> Bundle:
    """Fibres (N x K x 3) twisted in three plies round a yarn's axis K x 3."""
    a, b = _frame(centre)
    k = np.arange(len(centre))
    ply = rng.integers(0, 3, fibres)
    twist = 2.0 * np.pi * (k[None, :] / 11.0 + ply[:, None] / 3.0)
    pace = rng.normal(1.0 / 3.1, 0.12, fibres)[:, None]
    inner = rng.uniform(0, 2 * np.pi, fibres)[:, None] + k[None, :] * pace
    stray = rng.uniform(0, 2 * np.pi, (2, fibres, 1))
    r = 0.06 * np.sqrt(rng.random(fibres))[:, None] + 0.02 * (
        np.sin(k / 2.3 + stray[0]) + np.sin(k / 5.1 + stray[1])
    )
    u = 0.055 * np.cos(twist) + r * np.cos(inner)
    v = 0.055 * np.sin(twist) + r * np.sin(inner)
    points = centre + u[..., None] * a + v[..., None] * b
    radius = np.full(points.shape[:2], 0.0048)
    return Bundle(points, radius, rng.random(fibres))


def _fuzz(centre: np.ndarray, count: int, rng: np.random.Generator) -> Bundle:
    """Short stray fibres that stand off the yarn."""
    start = centre[rng.integers(0, len(centre), count)]
    direction = rng.normal(size=(count, 3))
    direction /= np.linalg.norm(direction, axis=1, keepdims=True)
    bend = rng.normal(scale=0.35, size=(count, 3))
    t = np.linspace(0.0, 1.0, 6)[None, :, None]
    length = rng.uniform(0.12, 0.36, count)[:, None, None]
    points = start[:, None, :] + length * (t * direction[:, None] + t**2 * bend[:, None])
    return Bundle(points, np.full(points.shape[:2], 0.0022), rng.random(count))


def topstitch(line: np.ndarray, stitch: float, rng: np.random.Generator) -> Bundle:
    """A row of stitches of the given length along a line K x 3."""
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    start = np.arange(0.0, run[-1] - stitch, 1.35 * stitch)
    where = start[:, None] + stitch * np.linspace(0.0, 1.0, 5)[None, :]
    points = np.stack([np.interp(where, run, line[:, k]) for k in range(3)], axis=-1)
    points += rng.normal(scale=0.006, size=(len(start), 1, 3))
    radius = np.broadcast_to(0.022 * np.array((0.3, 0.9, 1.0, 0.9, 0.3)), points.shape[:2])
    return Bundle(points, radius, np.ones(len(start)))
