"""What a value typed into the table may be: its heading, how it is shown, its reach."""

import attrs

from engine.strip.corrections import EYE


@attrs.frozen
class TypedUnit:
    """`factor` turns stored into shown values; `how` tells how such values are come by."""

    label: str
    heading: str
    factor: float
    low: float
    high: float
    digits: int
    how: str

    def shown(self, value: float) -> str:
        """A stored value as people read it."""
        text = f"{value * self.factor:.{self.digits}f}"
        return text.lstrip("-") if float(text) == 0.0 else text


_INSTRUMENT = (
    "Measure on dull black with the instrument flat on the glass, as many figures as it shows."
)
_EYE = (
    "Lay the strip on dull black in even light, without reflections. Hold a grey scale of known L* "
    "or density, as photographers use it, with 20 steps or more, close beside the patch. Type the "
    "step that is as light with half closed eyes, 3.5 between two. A scale from your own printer "
    "serves only once it was measured."
)
UNITS = {
    "frost": TypedUnit(
        "Frost: 0 bare, 100 solid",
        "Frost, %",
        100.0,
        0.0,
        120.0,
        1,
        "The share of light between bare and solid, not of what the eye sees: a patch that looks "
        "half as light has about 20. Another unit tells more: how light bare glass is.",
    ),
    "reflectance": TypedUnit("Reflectance", "Reflectance, %", 100.0, 0.0, 100.0, 1, _INSTRUMENT),
    "lightness": TypedUnit("Lightness L*", "L*", 1.0, 0.0, 100.0, 1, _INSTRUMENT),
    "density": TypedUnit("Density", "Density", 1.0, 0.0, 5.0, 2, _INSTRUMENT),
    EYE: TypedUnit("Step of a printed grey scale", "Step", 1.0, 1.0, 50.0, 1, _EYE),
}
