"""The sitter: fur, face, knitted coat and cotton collar as objects with materials (needs bpy)."""

import bpy
import numpy as np
from mathutils import Euler, Matrix, Vector
from puppy_shape import (
    CHEST_TURN,
    EYE_AXES,
    EYE_CENTRES,
    EYE_RADIUS,
    HEAD,
    LID_WIDTH,
    NOSE_CENTRE,
    NOSE_RADII,
    lid_height,
    mouth_line,
    smoothstep,
    torso,
)
from scene_kit import Material, add_grid, add_strands, sphere, tube
from strands import Bundle, topstitch

HEAD_POSE = (
    Matrix.Translation((0, 0.8, -5))
    @ Euler((np.radians(-2), np.radians(5), np.radians(14))).to_matrix().to_4x4()
    @ Matrix.Translation((0, -0.8, 5))
)


def _fur_material() -> bpy.types.Material:
    m = Material(
        "fur",
        "ShaderNodeBsdfHairPrincipled",
        Roughness=0.38,
        Radial_Roughness=0.6,
        Random_Roughness=0.2,
        Coat=0.0,
    )
    m.shader.parametrization = "COLOR"
    tint = m.node("ShaderNodeAttribute")
    tint.attribute_name = "tint"
    ramp = m.ramp((0.0, (0.84, 0.46, 0.24)), (0.5, (0.74, 0.30, 0.110)), (1.0, (0.56, 0.17, 0.050)))
    m.link(tint, "Fac", ramp, 0)
    m.link(ramp, 0, m.shader, "Color")
    return m.material


def add_fur(coat: Bundle) -> None:
    """The puppy's coat on the posed head."""
    add_strands("fur", [coat], _fur_material()).matrix_world = HEAD_POSE


def _eye_material() -> bpy.types.Material:
    m = Material("eye", Roughness=0.03, IOR=1.45, Coat_Weight=1.0, Coat_Roughness=0.0)
    place = m.node("ShaderNodeTexCoord")
    split = m.node("ShaderNodeSeparateXYZ")
    ramp = m.ramp(
        (0.0, (0.006, 0.003, 0.002)),
        (0.66, (0.010, 0.004, 0.002)),
        (0.80, (0.022, 0.009, 0.004)),
        (0.88, (0.003, 0.002, 0.002)),
    )
    flip = m.node("ShaderNodeMath")
    flip.operation = "MULTIPLY"
    flip.inputs[1].default_value = -1.0
    m.link(place, "Object", split, 0)
    m.link(split, "Y", flip, 0)
    m.link(flip, 0, ramp, 0)
    m.link(ramp, 0, m.shader, "Base Color")
    return m.material


def _nose_material() -> bpy.types.Material:
    m = Material(
        "nose",
        Base_Color=(0.012, 0.009, 0.008, 1),
        Roughness=0.42,
        Coat_Weight=0.25,
        Coat_Roughness=0.25,
    )
    cells = m.node("ShaderNodeTexVoronoi", Scale=9.0)
    cells.feature = "SMOOTH_F1"
    place = m.node("ShaderNodeTexCoord")
    m.link(place, "Object", cells, "Vector")
    m.bump(cells, "Distance", 0.8, 0.06)
    return m.material


def add_face(pose: Matrix) -> None:
    """Skin under the fur, eyes with their lids, nose and mouth."""
    skin = Material(
        "skin",
        Base_Color=(0.13, 0.062, 0.036, 1),
        Roughness=0.6,
        Subsurface_Weight=0.15,
        Subsurface_Scale=0.1,
    ).material
    lid = Material("lid", Base_Color=(0.022, 0.012, 0.009, 1), Roughness=0.42).material
    mask = Material("mask", Base_Color=(0.022, 0.012, 0.009, 1), Roughness=0.9).material
    for form in HEAD:
        if form.name == "brow":
            continue
        points = (sphere() * np.asarray(form.radii) * 0.96) @ form.axes.T + form.centre
        dark = form.name in ("muzzle", "lip", "chin")
        add_grid(form.name, points, mask if dark else skin).matrix_world = pose
    eye = _eye_material()
    for centre, axis in zip(EYE_CENTRES, EYE_AXES, strict=True):
        turn = Vector((0, -1, 0)).rotation_difference(Vector(axis)).to_matrix().to_4x4()
        here = pose @ Matrix.Translation(centre) @ turn
        add_grid("eye", sphere(), eye).matrix_world = here @ Matrix.Scale(EYE_RADIUS, 4)
        for part in (tube(_lid_line(), 0.04), _lid_skirt()):
            add_grid("lid", part, lid).matrix_world = here @ Matrix.Scale(EYE_RADIUS, 4)
    add_grid("mouth", tube(mouth_line(), 0.16), lid).matrix_world = pose
    philtrum = np.linspace((0, -7.75, -1.6), mouth_line()[40], 12)
    add_grid("philtrum", tube(philtrum, 0.13), lid).matrix_world = pose
    add_grid("nose", _nose_points(), _nose_material()).matrix_world = pose @ Matrix.Translation(
        NOSE_CENTRE
    )


def _lid_line() -> np.ndarray:
    """The almond between the lids on the unit eyeball, K x 3."""
    a = np.linspace(0.0, 2.0 * np.pi, 97)
    x, z = LID_WIDTH * np.cos(a), np.sign(np.sin(a)) * lid_height(np.cos(a), np.sin(a) > 0)
    return np.stack([x, -np.sqrt(np.maximum(0.05, 1.03 - x * x - z * z)), z], axis=-1)


def _lid_skirt() -> np.ndarray:
    """The skin that runs from the lids back to the skull."""
    line = _lid_line()
    t = np.linspace(0.0, 1.0, 24)[:, None, None]
    outer = line * (1.25, 0.0, 1.3) + (0.0, 0.25, 0.0)
    bulge = 0.12 * np.sin(np.pi * t) * line / np.linalg.norm(line, axis=1, keepdims=True)
    return line + (outer - line) * t + bulge


def _nose_points() -> np.ndarray:
    """The nose pad: a flattened sphere, wider above, with two hollows for nostrils."""
    p = sphere(256)
    x, y, z = p[..., 0], p[..., 1], p[..., 2]
    x = x * (0.88 + 0.16 * z)
    groove = 0.10 * np.exp(-((x / 0.07) ** 2)) * smoothstep(0.35, -0.3, z) * (y < 0)
    hollow = 0.0
    for side in (-1.0, 1.0):
        u, w = (x - side * 0.46), (z + 0.12)
        along, across = u * 0.9 + side * w * 0.45, -side * u * 0.45 + w * 0.9
        hollow = hollow + 0.75 * np.exp(-(((along / 0.24) ** 2 + (across / 0.13) ** 2) ** 1.5))
    y = y + np.where(y < 0, groove + hollow, 0.0)
    return np.stack([x, y, z], axis=-1) * NOSE_RADII


def add_coat(yarn: list[Bundle]) -> None:
    """The knitted coat over a dark lining."""
    wool = Material(
        "wool", Roughness=0.9, Specular_IOR_Level=0.12, Sheen_Weight=0.04, Sheen_Roughness=0.5
    )
    tint = wool.node("ShaderNodeAttribute")
    tint.attribute_name = "tint"
    ramp = wool.ramp((0.0, (0.0040, 0.0044, 0.0056)), (1.0, (0.0120, 0.0130, 0.0155)))
    wool.link(tint, "Fac", ramp, 0)
    wool.link(ramp, 0, wool.shader, "Base Color")
    add_strands("yarn", yarn, wool.material)
    lining = Material("lining", Base_Color=(0.004, 0.004, 0.005, 1), Roughness=1.0).material
    angle, depth = np.meshgrid(np.linspace(-np.pi, np.pi, 121), np.linspace(-0.5, 24, 60))
    points = torso(angle, depth)
    points[..., :2] *= 0.97
    add_grid("lining", points, lining)


def _collar_half(
    side: float, along: np.ndarray, across: np.ndarray, lift: float = 0.0
) -> np.ndarray:
    """Half of the collar: along it from the front (0), across it from the fold (0).

    Both run to 1; `lift` is the height in cm above its middle surface.
    """
    round_off = 0.40 * (1.0 - np.sqrt(1.0 - (0.995 * across) ** 2))
    front = 0.10 + round_off
    angle = CHEST_TURN + side * (front + (2.7 - front) * along)
    width = 3.5 + 0.10 * np.sin(6.0 * along + 2.0 * side)
    depth = -0.9 + across * width
    swell = 0.56 + lift + 0.30 * np.exp(-(((across - 0.12) / 0.22) ** 2))
    wave = 0.09 * np.sin(11.0 * along + 1.3 * side)
    wave = wave + 0.05 * np.sin(25.0 * along + 5.0 * across + 2.0 * side)
    swell = swell + wave * across**1.5
    turned = angle - CHEST_TURN
    out = np.stack([np.sin(turned), -np.cos(turned), 0.8 + 0 * angle], axis=-1)
    return torso(angle, depth) + swell[..., None] * out / 1.28


def add_collar(rng: np.random.Generator) -> None:
    """A white cotton collar in two halves with a line of topstitching, laid on the coat."""
    cotton = Material(
        "cotton",
        Base_Color=(0.335, 0.37, 0.395, 1),
        Roughness=0.85,
        Subsurface_Weight=0.2,
        Subsurface_Scale=0.08,
        Sheen_Weight=0.1,
    )
    place = cotton.node("ShaderNodeTexCoord")
    threads = cotton.node("ShaderNodeMath")
    for k, direction in enumerate(("X", "Z")):
        wave = cotton.node("ShaderNodeTexWave", Scale=7.5, Distortion=1.2, Detail_Scale=3.0)
        wave.bands_direction = direction
        cotton.link(place, "Object", wave, "Vector")
        cotton.link(wave, "Fac", threads, k)
    cotton.bump(threads, 0, 0.14, 0.03)
    edge = np.concatenate(
        [
            np.stack([np.full(40, 0.012), np.linspace(0.1, 0.90, 40)], axis=-1),
            np.stack([np.linspace(0.02, 1.0, 400), np.full(400, 0.915)], axis=-1),
        ]
    )
    for side in (-1.0, 1.0):
        along, across = np.meshgrid(np.linspace(0.0, 1.0, 260) ** 1.3, np.linspace(0.0, 1.0, 140))
        half = add_grid("collar", _collar_half(side, along, across), cotton.material)
        shell = half.modifiers.new("thick", "SOLIDIFY")
        shell.thickness, shell.offset = 0.13, 0.0
        line = _collar_half(side, edge[:, 0], edge[:, 1], lift=0.10)
        add_strands("stitches", [topstitch(line, 0.17, rng)], cotton.material)
