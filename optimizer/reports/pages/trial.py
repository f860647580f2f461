"""Settings to try on a page: sliders over exact results that the page carries along."""

from collections.abc import Sequence
from typing import Any

from msgspec import Struct

from optimizer.models.pictures import TriedSetting, WheelPictures
from optimizer.reports.pages.scale import Scale
from optimizer.wording.outer_pivot import outer_title
from optimizer.wording.pages import TRIED, TRY, tried_in_words
from optimizer.wording.reader import Reader

DIGITS = 6  # of toe, as it is shipped


class Slider(Struct, frozen=True):
    """What is moved, the names of its stops, and the one that number 1 has."""

    key: str
    name: str
    stops: list[str]
    marked: int


class Trial(Struct, frozen=True):
    """Two sliders, what is said beside them, and the results for the script."""

    sliders: list[Slider]
    data: dict[str, Any]
    back: str = TRY["mark"]
    how: str = TRY["how"]


def trial_of(pictures: WheelPictures, reader: Reader, toe: Scale, travel: Scale) -> Trial | None:
    """What may be tried at one wheel; None where there is but one setting."""
    settings = {(one.outer_drop_mm, one.rack_raise_mm): one for one in pictures.settings}
    drops, raises = (sorted({pair[k] for pair in settings}) for k in (0, 1))
    if len(settings) < 2:
        return None
    marked = pictures.curves[min(1, len(pictures.curves) - 1)].fitted
    sliders = [
        _slider(
            "drop",
            TRY["drop"].format(way=outer_title(reader)),
            drops,
            marked.outer_drop_mm,
            reader,
        ),
        _slider(
            "raise",
            TRY["raise"].format(inner=reader.words.inner),
            raises,
            marked.rack_raise_mm,
            reader,
        ),
    ]
    shown = [settings.get((drop, up)) for drop in drops for up in raises]
    return Trial(
        sliders,
        {
            "stops": [slider.stops for slider in sliders],
            "marked": [slider.marked for slider in sliders],
            "heights": [travel(reader.in_units(height)) for height in pictures.travel_mm],
            "x0": toe(0.0),
            "kx": toe.rate,
            "none": TRIED["none"],
            "settings": [None if one is None else _told(one, reader) for one in shown],
        },
    )


def _slider(key: str, name: str, places: Sequence[float], marked: float, reader: Reader) -> Slider:
    nearest = min(range(len(places)), key=lambda k: abs(places[k] - marked))
    return Slider(key, name, [reader.fitted(place) for place in places], nearest)


def _told(one: TriedSetting, reader: Reader) -> dict[str, Any]:
    return {
        "says": tried_in_words(one, reader),
        "toe": [
            None if x is None else round(reader.toe_in_units(x), DIGITS) for x in one.toe_change_deg
        ],
    }
