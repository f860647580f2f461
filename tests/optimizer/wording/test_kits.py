"""What is said of kits, and of the shim to buy."""

import pytest

from optimizer.answers.suggest import suggest
from optimizer.files.case_file import car_from_toml
from optimizer.models.suggest import BoughtFor, KitFacts, NextShim, SuggestResult
from optimizer.wording.kits import kits_in_words, shim_in_words
from optimizer.wording.reader import Reader
from tests.optimizer.two_sided_cars import DEMO_TEXT, ROOT

TEXTS = {
    "left": (ROOT / "cases" / "track-wishbone.toml").read_text(encoding="utf-8"),
    "both": DEMO_TEXT,
}
BOUGHT = {
    "outer_drop_mm": 7.0, "stack_mm": [5.0, 2.0], "rack_raise_mm": -2.25,
    "ball_joint_drop_mm": 30.0, "axle_bracket_raise_mm": 12.5, "thickness_mm": 2.0,
}  # fmt: skip


def told(car: str, *wheels: BoughtFor, now_deg: float | None = 0.25) -> str:
    result = with_shim(suggest(car_from_toml(TEXTS[car], "car")), wheels, now_deg)
    (words,) = shim_in_words(result, Reader(result.subject))
    return words


def with_shim(
    result: SuggestResult, wheels: tuple[BoughtFor, ...], now_deg: float | None
) -> SuggestResult:
    shim = NextShim(peak_now_deg=now_deg, peak_then_deg=0.125, wheels=list(wheels))
    return result.model_copy(update={"next_shim": shim})


def test_the_purchase_names_all_that_would_be_fitted_with_it():
    assert told("left", BoughtFor(side="left", **BOUGHT)) == (
        "To buy: one 2 mm shim would bring 0.250 deg down to 0.125 deg (stack 1 x 5 + 1 x 2, rack "
        "lowered 2.25 mm, lateral link's axle bracket raised 12.5 mm, lower ball joint 30.0 mm "
        "down)."
    )


def test_a_purchase_without_which_nothing_fits_says_so():
    assert "one 2 mm shim would make a setting fit, with a peak of 0.125 deg (" in told(
        "left", BoughtFor(side="left", **BOUGHT), now_deg=None
    )


@pytest.mark.parametrize(
    ("thicknesses", "bought"),
    [
        ((2.0, 1.0), "on the left one 2 mm shim and on the right one 1 mm shim would bring"),
        ((None, 1.0), "To buy: on the right one 1 mm shim would bring"),
    ],
)
def test_each_of_two_wheels_is_bought_the_shim_that_it_lacks(thicknesses, bought):
    plain = {"rack_raise_mm": 0.0, "ball_joint_drop_mm": 0.0, "axle_bracket_raise_mm": 0.0}
    left, right = (
        BoughtFor(side=side, **BOUGHT | plain | {"thickness_mm": thickness})
        for side, thickness in zip(("left", "right"), thicknesses, strict=True)
    )
    bare = right.model_copy(update={"stack_mm": [], "outer_drop_mm": 0.0})
    words = told("both", left, bare)
    assert bought in words
    assert words.endswith("(on the left stack 1 x 5 + 1 x 2; on the right standard seat).")


def test_a_kit_is_told_as_far_as_it_is_known():
    whole = KitFacts(name="Bolt", seat="straight-bolt", irreversible=True, price=62.5, mass_g=240.0)
    assert kits_in_words([whole], "EUR") == [
        "Bolt: straight bolt: needs the taper drilled out, which can't be undone, 62.5 EUR a "
        "wheel, 240 g."
    ]
    unpriced = whole.model_copy(update={"seat": "tapered", "price": 9.0, "mass_g": None})
    assert kits_in_words([unpriced], None) == [
        "Bolt: tapered stud in the original taper, 9 a wheel."
    ]
