"""The puppy's forms: ellipsoids for the head, fields for its coat, and the torso the knit lies on.

Numpy alone. Lengths are centimetres. The puppy looks along -y (towards the camera), x runs to
the right of the picture and z upwards; the origin is the middle of the skull.
"""

from dataclasses import dataclass, field

import numpy as np

EYE_CENTRES = np.array([(-1.95, -3.45, 0.35), (1.95, -3.45, 0.35)])
EYE_AXES = np.array([(-0.20, -0.97, 0.05), (0.20, -0.97, 0.05)])
EYE_RADIUS = 1.08
LID_WIDTH = 0.86
CHEST_TURN = 0.12
NOSE_CENTRE = np.array((0.0, -7.55, -1.15))
NOSE_RADII = np.array((1.08, 0.88, 0.78))


@dataclass(frozen=True)
class Form:
    """One ellipsoid of the body with the coat that grows on it."""

    name: str
    centre: tuple[float, float, float]
    radii: tuple[float, float, float]
    length: float
    curl: float
    flow: tuple[float, float, float]
    lift: float
    tint: float
    roll: float = 0.0
    axes: np.ndarray = field(init=False, repr=False)

    def __post_init__(self) -> None:
        c, s = np.cos(self.roll), np.sin(self.roll)
        object.__setattr__(self, "axes", np.array([(c, 0, s), (0, 1, 0), (-s, 0, c)]))

    def local(self, points: np.ndarray) -> np.ndarray:
        """Points (N x 3) in the frame of the ellipsoid."""
        return (points - np.asarray(self.centre)) @ self.axes

    def distance(self, points: np.ndarray) -> np.ndarray:
        """Signed distance in cm (first order, negative inside) of points N x 3."""
        q, r = self.local(points), np.asarray(self.radii)
        k0 = np.linalg.norm(q / r, axis=1)
        k1 = np.linalg.norm(q / (r * r), axis=1)
        return k0 * (k0 - 1.0) / np.maximum(k1, 1e-9)

    def normal(self, points: np.ndarray) -> np.ndarray:
        """Outward unit normals (N x 3) of the ellipsoid's family at the points."""
        g = (self.local(points) / np.square(self.radii)) @ self.axes.T
        return g / np.maximum(np.linalg.norm(g, axis=1, keepdims=True), 1e-9)


def _pair(name: str, centre: tuple, radii: tuple, flow: tuple, roll: float, **coat: float) -> list:
    """A form and its mirror image."""
    (x, y, z), (u, v, w) = centre, flow
    return [
        Form(name, (-x, y, z), radii, flow=(-u, v, w), roll=-roll, **coat),
        Form(name, (x, y, z), radii, flow=(u, v, w), roll=roll, **coat),
    ]


HEAD = [
    Form("skull", (0, 0, 0.9), (4.2, 4.7, 4.3), 1.75, 0.20, (0, 0.3, 0.5), 1.0, 0.45),
    Form("muzzle", (0, -4.9, -1.7), (1.75, 2.9, 1.45), 0.95, 0.12, (0, 0.35, -0.7), 0.8, 0.15),
    Form("chin", (0, -4.3, -3.2), (1.3, 2.1, 0.9), 1.0, 0.14, (0, -0.1, -1.0), 0.7, 0.2),
    *_pair(
        "cheek",
        (2.3, -1.6, -1.9),
        (2.5, 2.5, 2.3),
        (0.5, 0.1, -0.9),
        0.0,
        length=1.4,
        curl=0.19,
        lift=0.8,
        tint=0.3,
    ),
    *_pair(
        "lip",
        (0.95, -5.9, -2.2),
        (1.0, 1.5, 0.95),
        (0.6, 0.3, -0.8),
        0.0,
        length=0.95,
        curl=0.12,
        lift=0.8,
        tint=0.1,
    ),
    *_pair(
        "brow",
        (1.95, -3.45, 0.35),
        (1.18, 1.18, 1.18),
        (0.3, 0.3, 0.2),
        0.0,
        length=1.1,
        curl=0.10,
        lift=0.5,
        tint=0.35,
    ),
    *_pair(
        "ear",
        (5.2, 0.9, -1.7),
        (0.95, 1.9, 3.9),
        (0.2, -0.1, -1.0),
        -0.24,
        length=2.1,
        curl=0.25,
        lift=0.55,
        tint=0.85,
    ),
    Form("throat", (0, 0.8, -5.2), (3.7, 3.6, 3.2), 1.7, 0.22, (0, -0.3, -1.0), 0.8, 0.35),
]


def smoothstep(low: float, high: float, x: np.ndarray) -> np.ndarray:
    """0 below `low`, 1 above `high`, a smooth cubic between."""
    t = np.clip((x - low) / (high - low), 0.0, 1.0)
    return t * t * (3.0 - 2.0 * t)


def scatter_roots(count: int, rng: np.random.Generator) -> np.ndarray:
    """About `count` hair roots (N x 3), evenly spread over the outer surface of the head."""
    areas = np.array([np.prod(f.radii) ** (2 / 3) for f in HEAD])
    shares = np.round(5.0 * count * areas / areas.sum()).astype(int)
    kept = []
    for form, n in zip(HEAD, shares, strict=True):
        r = np.asarray(form.radii)
        unit = rng.normal(size=(3 * n, 3))
        unit /= np.linalg.norm(unit, axis=1, keepdims=True)
        stretch = np.linalg.norm(unit / r, axis=1)
        unit = unit[rng.random(3 * n) < stretch / stretch.max()][:n]
        points = (unit * r) @ form.axes.T + np.asarray(form.centre)
        others = [f.distance(points) for f in HEAD if f is not form]
        kept.append(points[np.min(others, axis=0) > -0.02])
    points = np.concatenate(kept)
    points = points[points[:, 1] < 4.0]
    face = 1.0 - smoothstep(
        1.6, 3.2, np.minimum(_eye_distance(points), np.linalg.norm(points - NOSE_CENTRE, axis=1))
    )
    points = points[rng.random(len(points)) < 0.38 + 0.62 * face]
    return points[rng.permutation(len(points))[:count]]


@dataclass(frozen=True)
class Coat:
    """What grows at each root: normals and flow N x 3, the rest N values."""

    normal: np.ndarray
    direction: np.ndarray
    length: np.ndarray
    curl: np.ndarray
    tint: np.ndarray


def coat_at(points: np.ndarray) -> Coat:
    """The coat's fields at points N x 3 on the head, blended over the forms nearby."""
    weights = np.stack([np.exp(-f.distance(points) / 0.45) for f in HEAD])
    weights /= weights.sum(axis=0)

    def blend(values: list) -> np.ndarray:
        return np.tensordot(weights, np.asarray(values, dtype=float), axes=(0, 0))

    normal = np.einsum("fn,fnk->nk", weights, np.stack([f.normal(points) for f in HEAD]))
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    flow = blend([f.flow for f in HEAD]) + _face_flow(points)
    direction = normal * blend([f.lift for f in HEAD])[:, None] + 0.8 * flow
    direction /= np.linalg.norm(direction, axis=1, keepdims=True)
    short = _shortness(points)
    return Coat(
        normal=normal,
        direction=direction,
        length=blend([f.length for f in HEAD]) * short,
        curl=blend([f.curl for f in HEAD]) * np.clip(1.2 * short - 0.1, 0.02, 1.0),
        tint=blend([f.tint for f in HEAD]) + 0.55 * _tear_stain(points),
    )


def _tear_stain(points: np.ndarray) -> np.ndarray:
    """1 in the inner corners of the eyes, falling off down the muzzle."""
    inner = EYE_CENTRES * (0.55, 1.12, 1.0) + (0.0, 0.0, -0.6)
    reach = np.array((0.7, 1.2, 0.9))
    return np.max([np.exp(-np.sum(((points - c) / reach) ** 2, axis=1)) for c in inner], axis=0)


def lid_height(across: np.ndarray, above: np.ndarray) -> np.ndarray:
    """Half height of the almond between the lids, on an eye of radius 1, `across` from -1 to 1."""
    open_ = np.sqrt(np.clip(1.0 - across**2, 0.0, 1.0)) * (1.0 - 0.34 * across**4)
    return np.where(above, 0.62, 0.60) * open_


def _eye_distance(points: np.ndarray) -> np.ndarray:
    return np.min([np.linalg.norm(points - c, axis=1) for c in EYE_CENTRES], axis=0)


def _shortness(points: np.ndarray) -> np.ndarray:
    """Share of the full length: short around the eyes, on the bridge and behind the nose."""
    eye = 0.42 + 0.58 * smoothstep(0.9, 2.6, _eye_distance(points))
    nose = 0.2 + 0.8 * smoothstep(0.7, 2.3, np.linalg.norm(points - NOSE_CENTRE, axis=1))
    bridge = np.exp(-((points[:, 0] / 1.1) ** 2)) * smoothstep(-2.2, -3.6, points[:, 1])
    bridge *= smoothstep(-1.6, -0.6, points[:, 2]) * smoothstep(2.6, 1.2, points[:, 2])
    mouth = 0.25 + 0.75 * smoothstep(0.15, 0.8, mouth_distance(points))
    return np.minimum(np.minimum(eye, nose), mouth) * (1.0 - 0.68 * bridge)


def mouth_line() -> np.ndarray:
    """The crease between the lips from corner to corner, K x 3, with the smile of a puppy."""
    s = np.linspace(-1.0, 1.0, 81)
    a = np.abs(s)
    return np.stack([2.0 * s, -7.15 + 2.3 * a**2.2, -2.25 - 1.9 * a + 1.75 * a**2.2], axis=-1)


def mouth_distance(points: np.ndarray) -> np.ndarray:
    """Distance in cm of points N x 3 from the mouth's line."""
    line = mouth_line()[::4]
    return np.min([np.linalg.norm(points - p, axis=1) for p in line], axis=0)


def _face_flow(points: np.ndarray) -> np.ndarray:
    """Hair leaves the eyes and the bridge of the nose outwards and backwards."""
    away = np.zeros_like(points)
    for centre in EYE_CENTRES:
        d = points - centre
        r = np.linalg.norm(d, axis=1, keepdims=True)
        away += d / r * np.exp(-((r / 1.5) ** 2)) * 1.6
    bridge = np.exp(-((points[:, 1] + 5.5) ** 2) / 4.0) * smoothstep(-2.0, -0.8, points[:, 2])
    away[:, 0] += 0.9 * np.tanh(points[:, 0] / 0.5) * bridge
    away[:, 1] += 0.9 * bridge
    return away


def torso(angle: np.ndarray, depth: np.ndarray) -> np.ndarray:
    """Points (... x 3) of the knitted coat: angle 0 is the front, depth in cm below the neck."""
    width = 3.9 + 6.9 * (1.0 - np.exp(-np.maximum(depth, -1.0) / 5.0))
    front = 4.0 + 3.2 * smoothstep(-2.0, 7.0, depth)
    legs = (
        0.11
        * smoothstep(3.0, 11.0, depth)
        * (np.exp(-(((np.abs(angle) - 0.80) / 0.30) ** 2)) - 0.6 * np.exp(-((angle / 0.30) ** 2)))
    )
    fold = 0.10 * np.sin(1.1 * depth + 2.3 * angle + 1.0) * np.sin(2.6 * angle - 0.35 * depth)
    reach = 1.0 + legs + fold * smoothstep(2.0, 6.0, depth) * 0.6
    turned = angle - CHEST_TURN
    return np.stack(
        [width * reach * np.sin(turned), 1.6 - front * reach * np.cos(turned), -6.2 - depth],
        axis=-1,
    )
