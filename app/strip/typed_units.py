"""What a value typed into the table may be: its heading, how it is shown, its reach."""

import attrs

from engine.strip.corrections import EYE


@attrs.frozen
class TypedUnit:
    """`factor` turns stored into shown values."""

    label: str
    heading: str
    factor: float
    low: float
    high: float
    digits: int

    def shown(self, value: float) -> str:
        """A stored value as people read it."""
        text = f"{value * self.factor:.{self.digits}f}"
        return text.lstrip("-") if float(text) == 0.0 else text


UNITS = {
    "frost": TypedUnit("Frost: 0 bare, 100 solid", "Frost, %", 100.0, 0.0, 120.0, 1),
    "reflectance": TypedUnit("Reflectance", "Reflectance, %", 100.0, 0.0, 100.0, 1),
    "lightness": TypedUnit("Lightness L*", "L*", 1.0, 0.0, 100.0, 1),
    "density": TypedUnit("Density", "Density", 1.0, 0.0, 5.0, 2),
    EYE: TypedUnit("Step of a printed grey scale", "Step", 1.0, 1.0, 50.0, 1),
}
