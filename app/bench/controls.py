"""From a field of the recipe to its control."""

from app.bench.choice_control import ChoiceControl
from app.bench.control import Control
from app.bench.curve_control import CurveControl
from app.bench.number_control import NumberControl
from app.bench.region_control import RegionControl
from app.bench.small_controls import ColourControl, FlagControl
from shared.fields import Kind
from shared.recipe import field_info

_KINDS: dict[Kind, type[Control]] = {
    "number": NumberControl,
    "choice": ChoiceControl,
    "flag": FlagControl,
    "colour": ColourControl,
    "curve": CurveControl,
    "region": RegionControl,
}


def control_for(key: str) -> Control:
    """A control for the field `group.field`, made from the field's description alone.

    Raises RecipeError for a name that is not a field.
    """
    return _KINDS[field_info(key).kind](key)
