"""The studio round the sitter: canvas, lights and camera (needs bpy)."""

import bpy
import numpy as np
from mathutils import Matrix, Vector
from scene_kit import Material, add_grid, add_object


def add_backdrop() -> None:
    """A painted canvas far behind, lighter behind one shoulder."""
    m = Material("backdrop", Roughness=1.0)
    where = m.node("ShaderNodeTexCoord")
    cloud = m.node("ShaderNodeTexNoise", Scale=0.018, Detail=3.0, Roughness=0.55)
    ramp = m.ramp((0.3, (0.036, 0.052, 0.058)), (0.7, (0.085, 0.108, 0.112)))
    m.link(where, "Object", cloud, "Vector")
    m.link(cloud, 0, ramp, 0)
    m.link(ramp, 0, m.shader, "Base Color")
    x, z = np.meshgrid(np.linspace(-300, 300, 3), np.linspace(-300, 300, 3))
    add_grid("backdrop", np.stack([x, np.full_like(x, 120.0), z], axis=-1), m.material)


def add_light(
    name: str, place: tuple, target: tuple, size: float, power: float, colour: tuple
) -> None:
    """A round soft light that looks at `target`; power in watts of a scene in cm."""
    light = bpy.data.lights.new(name, "AREA")
    light.shape, light.size, light.color = "DISK", size, colour
    light.energy = power * 1e4
    aim = (Vector(target) - Vector(place)).to_track_quat("-Z", "Y").to_matrix().to_4x4()
    lamp = add_object(name, light, Matrix.Translation(place) @ aim)
    lamp.visible_glossy = name != "fill"


def light_the_set() -> None:
    """Warm key from the left, weak fill, a rim from behind on the right, a glow on the canvas."""
    add_light("key", (-62, -95, 58), (0, -2, -3), 68, 66, (1.0, 0.86, 0.74))
    add_light("fill", (90, -110, 10), (0, 0, -5), 120, 12, (0.85, 0.92, 1.0))
    add_light("rim", (55, 75, 45), (0, 0, 0), 35, 38, (1.0, 0.92, 0.82))
    add_light("glow", (60, 60, -40), (25, 120, -8), 40, 24, (1.0, 0.95, 0.88))
    world = bpy.data.worlds.new("room")
    world.use_nodes = True
    world.node_tree.nodes["Background"].inputs[0].default_value = (0.02, 0.02, 0.022, 1)
    bpy.context.scene.world = world


def set_camera(width: int, height: int) -> None:
    """A long lens at eye height, 130 cm away, focused on the nearer eye."""
    camera = bpy.data.cameras.new("camera")
    camera.sensor_fit, camera.sensor_height = "VERTICAL", 36.0
    distance, field = 130.0, 24.0
    camera.lens = 36.0 * distance / field
    camera.clip_end = 1000.0
    camera.dof.use_dof = True
    camera.dof.focus_distance = distance - 4.6
    camera.dof.aperture_fstop = 12.0 / 100.0
    place = Vector((0.2, -distance, 0.5))
    aim = (Vector((0.3, 0, -3.3)) - place).to_track_quat("-Z", "Y").to_matrix().to_4x4()
    thing = add_object("camera", camera, Matrix.Translation(place) @ aim)
    scene = bpy.context.scene
    scene.camera = thing
    scene.render.resolution_x, scene.render.resolution_y = width, height
