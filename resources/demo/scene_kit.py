"""Short calls for building a Blender scene: node materials, strands, grids (needs bpy)."""

import bpy
import numpy as np
from mathutils import Matrix
from strands import Bundle


class Material:
    """A node material built by short calls."""

    def __init__(
        self, name: str, shader: str = "ShaderNodeBsdfPrincipled", **inputs: object
    ) -> None:
        self.material = bpy.data.materials.new(name)
        self.material.use_nodes = True
        self.tree = self.material.node_tree
        self.tree.nodes.clear()
        self.out = self.tree.nodes.new("ShaderNodeOutputMaterial")
        self.shader = self.node(shader, **inputs)
        self.link(self.shader, 0, self.out, "Surface")

    def node(self, kind: str, **inputs: object) -> bpy.types.Node:
        """A node with its inputs set; underscores in names stand for spaces."""
        node = self.tree.nodes.new(kind)
        for key, value in inputs.items():
            node.inputs[key.replace("_", " ")].default_value = value
        return node

    def link(self, a: bpy.types.Node, out: str | int, b: bpy.types.Node, into: str | int) -> None:
        """Join an output to an input."""
        self.tree.links.new(a.outputs[out], b.inputs[into])

    def ramp(self, *stops: tuple[float, tuple[float, float, float]]) -> bpy.types.Node:
        """A colour ramp with the given stops (position, linear RGB)."""
        node = self.tree.nodes.new("ShaderNodeValToRGB")
        ramp = node.color_ramp
        while len(ramp.elements) < len(stops):
            ramp.elements.new(0.5)
        for element, (place, rgb) in zip(ramp.elements, stops, strict=True):
            element.position, element.color = place, (*rgb, 1.0)
        return node

    def bump(self, texture: bpy.types.Node, out: str | int, strength: float, depth: float) -> None:
        """Raise the surface by a texture's output."""
        bump = self.node("ShaderNodeBump", Strength=strength, Distance=depth)
        self.link(texture, out, bump, "Height")
        self.link(bump, 0, self.shader, "Normal")


def add_strands(name: str, bundles: list[Bundle], material: bpy.types.Material) -> bpy.types.Object:
    """All bundles as one object of hair curves with a `tint` for each strand."""
    curves = bpy.data.hair_curves.new(name)
    sizes = [b.points.shape[1] for b in bundles for _ in range(len(b.points))]
    curves.add_curves(sizes)
    points = np.concatenate([b.points.reshape(-1, 3) for b in bundles]).astype(np.float32)
    curves.attributes["position"].data.foreach_set("vector", points.ravel())
    radius = np.concatenate([b.radius.ravel() for b in bundles]).astype(np.float32)
    slot = curves.attributes.get("radius") or curves.attributes.new("radius", "FLOAT", "POINT")
    slot.data.foreach_set("value", radius)
    tint = np.concatenate([b.tint for b in bundles]).astype(np.float32)
    curves.attributes.new("tint", "FLOAT", "CURVE").data.foreach_set("value", tint)
    curves.materials.append(material)
    return add_object(name, curves)


def add_object(name: str, data: bpy.types.ID, pose: Matrix | None = None) -> bpy.types.Object:
    """Put data into the scene under a name, posed where a pose is given."""
    thing = bpy.data.objects.new(name, data)
    bpy.context.collection.objects.link(thing)
    if pose is not None:
        thing.matrix_world = pose
    return thing


def add_grid(name: str, points: np.ndarray, material: bpy.types.Material) -> bpy.types.Object:
    """A smooth mesh from a grid of points (rows x columns x 3)."""
    rows, columns = points.shape[:2]
    index = np.arange(rows * columns).reshape(rows, columns)
    faces = np.stack([index[:-1, :-1], index[1:, :-1], index[1:, 1:], index[:-1, 1:]], axis=-1)
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata(points.reshape(-1, 3).tolist(), [], faces.reshape(-1, 4).tolist())
    mesh.polygons.foreach_set("use_smooth", np.ones(len(mesh.polygons), dtype=bool))
    mesh.materials.append(material)
    return add_object(name, mesh)


def sphere(segments: int = 96) -> np.ndarray:
    """Unit sphere as a grid; the pole lies on -y."""
    a = np.linspace(0.0, np.pi, segments // 2)[:, None]
    b = np.linspace(0.0, 2.0 * np.pi, segments)[None, :]
    return np.stack([np.sin(a) * np.cos(b), -np.cos(a) + 0 * b, np.sin(a) * np.sin(b)], axis=-1)


def tube(line: np.ndarray, radius: float, sides: int = 17) -> np.ndarray:
    """A tube of the given radius along a line K x 3, as a grid of sides x K x 3."""
    tangent = np.gradient(line, axis=0)
    tangent /= np.linalg.norm(tangent, axis=1, keepdims=True)
    out = np.cross(tangent, np.cross((0.0, -1.0, 0.02), tangent))
    out /= np.linalg.norm(out, axis=1, keepdims=True)
    up = np.cross(tangent, out)
    b = np.linspace(0.0, 2.0 * np.pi, sides)[:, None, None]
    return line[None] + radius * (np.cos(b) * out[None] + np.sin(b) * up[None])
