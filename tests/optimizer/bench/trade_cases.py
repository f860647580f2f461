"""What people brought to the bench, one case a row: what is typed, and what must come out.

Kinds of cars and of trouble are real, the figures are invented; what a row expects is common
practice or first-order arithmetic, checked against exact motion elsewhere in the tests.
"""

from dataclasses import dataclass

import numpy as np

from tests.optimizer.command_line import CASES
from tests.optimizer.gauging.typed import ANGLE, HEAD, KIT_CAR, MINUTES, TWO_DIALS, curve, rows

STRUT, WISHBONE, KITS = (
    str(CASES / name) for name in ("lowered-strut.toml", "track-wishbone.toml", "kits.toml")
)
TWO_SIDED, BEAM, LEAVES = (
    str(CASES / f"{name}.toml")
    for name in ("two-sided-wishbone", "lifted-beam-axle", "lifted-leaf-axle")
)
STRUT_TEXT = (CASES / "lowered-strut.toml").read_text(encoding="utf-8")
SLOPE = float(np.degrees(1.0 / (340.0 * 120.0)))  # of KIT_CAR, per mm of travel and of height
WASHERS = "shelf = { shims = [{ thickness = 1.5, count = 8 }, { thickness = 1.0, count = 4 }] }\n"
REAR = KIT_CAR.replace(" }", ', axle = "rear" }')


@dataclass(frozen=True)
class Brought:
    """A case of the bench: `asks` is its question, `command` is typed with `files` beside it.

    `says` are patterns of what comes out, `code` is how the program ends; `open` names what of the
    question stays unanswered, and why.
    """

    asks: str
    command: tuple[str, ...]
    says: tuple[str, ...]
    files: tuple[tuple[str, str], ...] = ()
    code: int = 0
    open: str = ""


def sweep(text: str, name: str = "sweep.toml") -> tuple[tuple[str, str], ...]:
    return ((name, text),)


def gauge(asks: str, text: str, *says: str, code: int = 0, open: str = "") -> Brought:
    """Readings alone, without any points."""
    return Brought(asks, ("gauge", "sweep.toml"), says, sweep(text), code, open)


def gauge_two(asks: str, one: str, two: str, *says: str) -> Brought:
    files = (*sweep(one, "one.toml"), *sweep(two, "two.toml"))
    return Brought(asks, ("gauge", "one.toml", "two.toml"), says, files)


CENTER_LINK = STRUT_TEXT.replace(
    'arms        = "behind"', 'kind = "center-link"\ncheck_at = [-40.0, 40.0]\narms = "behind"'
)
SPACED = (
    STRUT_TEXT + "[knuckle_plate]\nthickness = [0.0, 30.0]\n[crossmember]\nspacer = [0.0, 10.0]\n"
)
LOWER_RACK = STRUT_TEXT.replace("[-6.0, -3.0, 0.0, 3.0, 6.0]", "[0.0, -12.7]")
SPUN = np.round(np.mod(500.0 * np.tan(np.radians(0.025 * np.arange(-40.0, 41.0, 10.0))), 5.0), 2)
TURNS = rows(*((t, 0.0, x) for t, x in zip(range(-40, 41, 10), SPUN, strict=True)))
LEFT, RIGHT = 'side = "left"\n', 'side = "right"\n'
BAND = "aim = { band = [[-50.0, -0.1, 0.1], [50.0, -0.1, 0.1]] }\n"

TRADE_CASES = {
    "C11": gauge(
        "1.5 deg over the travel: shim the rack, or shim the outer pivot?",
        ANGLE + KIT_CAR + curve(lambda t: -0.015 * t),
        r"lower the outer pivot or raise the rack, by about 10\.\d mm",
        open="what the rigid rear axle on radius arms steers: no layout for a rear beam axle",
    ),
    "C12": gauge(
        "the club says 9 mm; which of the plates that can be bought?",
        MINUTES + KIT_CAR + WASHERS + "outer_drop = 0.0\n" + curve(lambda t: -540.0 * SLOPE * t),
        r"by about 9\.0 mm",
        r"Of the shelf: .*9\.0 mm in all from the standard seat",
        r"one solid spacer",
    ),
    "C13": gauge(
        "right front, a 4 mm spacer under the rack: more of it, or less?",
        MINUTES + RIGHT + "rack_raise = 4.0\n" + KIT_CAR + curve(lambda t: 240.0 * SLOPE * t),
        r"raise the outer pivot or lower the rack, by about 4\.0 mm",
        r"Reset toe before driving",
    ),
    "C14": Brought(
        "rack raised 7 mm and toe not reset: which of the two did it?",
        ("curve", STRUT, "--rack-raise", "7", "--keep-rod-length"),
        (r"rack raise 7\.0 mm, rod as long as measured", r"0\.0 +[-+]\d"),
    ),
    "C15": gauge(
        "a rack far too long between its joints: must it be cut?",
        ANGLE + KIT_CAR + curve(lambda t: 4e-5 * t * t),
        r"Shims can't cure the part that goes the same way",
        r"the tie rod is too long: .* by about \d",
        r"Heating, bending or welding",
        open="end support and lock stops of a shortened rack: no geometry",
    ),
    "C16": gauge(
        "a rack 3.5 mm short on each side: does it matter?",
        MINUTES + KIT_CAR + curve(lambda t: -1.5 * (t / 50.0) ** 2),
        r"It does not matter: toe stays within the tolerance",
    ),
    "C17": Brought(
        "length first, then height: how long must the rack be?",
        ("suggest", STRUT, "--quiet"),
        (r"the inner pivot \d+\.\d mm inboard with drop outer \d+\.\d mm",),
        code=1,
    ),
    "C18": Brought(
        "were the shims fitted on the wrong sides?",
        ("check", TWO_SIDED),
        (r"were the shims fitted on the wrong sides\?", r"toe changes differ by up to"),
    ),
    "C19": gauge(
        "minutes or seconds; are 4 minutes good enough?",
        MINUTES + KIT_CAR + "aim = { tolerance_deg = 0.03 }\n" + curve(lambda t: -0.08 * t),
        r"under 5 minutes felt settled",
    ),
    "C20": gauge(
        "a beam along the stub axle onto a wall 3 m away: is that right?",
        f'{HEAD}kind = "wall"\nwall_distance = 3000.0\nreading_grows = "forward"\n'
        + KIT_CAR
        + curve(lambda t: -0.15 * t),
        r"Slope [-+]0\.0\d+ deg per 10 mm",
        r"lower the outer pivot or raise the rack|raise the outer pivot or lower the rack",
    ),
    "C21": Brought(
        "other uprights: where does the rack go now?",
        ("suggest", "other.toml", "--quiet"),
        (r"Fit .*|Leave it as it is", r"Peak 0\.\d+ deg"),
        sweep(STRUT_TEXT.replace("735.0, 190.0]", "735.0, 175.0]"), "other.toml"),
        code=1,
    ),
    "C22": Brought(
        "how tall a spacer, does the joint bind, does the stud bend?",
        ("suggest", WISHBONE),
        (r"drop outer 7\.5 mm", r"tilts 9\.7 of 14\.0 deg", r"stud in single shear and bends it"),
    ),
    "C23": gauge(
        "2 mm of toe-out at full bump was all that was read",
        f'{HEAD}kind = "toe-plates"\nspacing = 600.0\n'
        + KIT_CAR
        + rows((50.0, 1504.0, 1500.0), (0.0, 1500.0, 1500.0)),
        r"Two heights tell the mean slope between",
        r"One more reading at travel",
    ),
    "C24": gauge_two(
        "the same stack is right on one side only",
        ANGLE + LEFT + KIT_CAR + curve(lambda t: -6.0 * SLOPE * t),
        ANGLE + RIGHT + KIT_CAR + curve(lambda t: -2.0 * SLOPE * t),
        r"by about 6\.0 mm",
        r"by about 2\.0 mm",
    ),
    "C25": gauge(
        "the hand kept spinning; a little bump-out is wanted",
        TWO_DIALS
        + "revolution = 5.0\naim = { band = [[-40.0, 0.0, 0.08], [40.0, -0.08, 0.0]] }\n"
        + TURNS,
        r"turn",
        r"outside the wanted band",
    ),
    "C26": Brought(
        "it runs 40 mm down, wheels turned: is it right there?",
        ("curve", STRUT, "--lowered-by", "80", "--bump", "10", "--rack-travel", "20"),
        (r"For 80\.0 mm lower than measured, .*rack 20\.0 mm to the left",),
    ),
    "C27": gauge(
        "the nose runs an inch down: which window of travel counts?",
        ANGLE
        + KIT_CAR
        + "at_ride_height = 25.0\nused = { bump = 20.0, droop = 20.0 }\n"
        + curve(lambda t: -0.0001 * max(t, 0.0) ** 2),
        r"lower the outer pivot or raise the rack",
    ),
    "C28": gauge(
        "within 1/8 in front to back, so it is corrected?",
        'format = 1\nunits = "in"\nkind = "toe-plates"\nspacing = 24.0\n'
        + rows((0.0, 58.0, 58.125)),
        r"one reading tells static toe, never how toe changes with travel",
        code=2,
    ),
    "C29": Brought(
        "a kit sized for another height: keep it or take it off?",
        ("reach", WISHBONE, "--kits", KITS),
        (r"It would meet a tolerance of", r"needs the taper drilled out, which can't be undone"),
    ),
    "C30": Brought(
        "does the rack spacer still help once the car is lowered?",
        ("curve", STRUT, "--lowered-by", "40", "--rack-raise=-6"),
        (r"For 40\.0 mm lower than measured, .*rack raise -6\.0 mm",),
    ),
    "C31": Brought(
        "are spacers needed at the height as built?",
        ("reach", "loose.toml", "--heights", "0:40:20"),
        (r"lowered by", r"One setting \(.*\) stays within"),
        sweep(STRUT_TEXT.replace("tolerance_deg = 0.05", "tolerance_deg = 0.15"), "loose.toml"),
    ),
    "C32": gauge_two(
        "lowering the joint took toe-in in bump away, with the arms behind?",
        ANGLE + KIT_CAR + 'name = "On top"\n' + curve(lambda t: +0.012 * t),
        ANGLE + KIT_CAR + 'name = "Below"\nouter_drop = 25.0\n' + curve(lambda t: +0.002 * t),
        r"behind",
        r"\?",
    ),
    "C33": gauge_two(
        "two spacers of seven: how many for the toe-out that is wanted?",
        ANGLE + "aim = { toe_gain_deg_per_10mm = -0.05 }\n" + curve(lambda t: 0.02 * t),
        ANGLE
        + "aim = { toe_gain_deg_per_10mm = -0.05 }\nouter_drop = 5.0\n"
        + curve(lambda t: 0.01 * t),
        r"All of this counts beyond the wanted gain",
        r"by about 7\.5 mm from what is fitted now",  # 5 are: 12.5 in all
    ),
    "C34": gauge(
        "rear toe link, large toe-in in bump: is zero best?",
        ANGLE + REAR + curve(lambda t: 0.01 * t),
        r"A maker may mean some toe change at the rear: hold it against the maker's band",
    ),
    "C35": gauge_two(
        "in the maker's band, and left like right?",
        ANGLE + LEFT + KIT_CAR + BAND + curve(lambda t: -0.001 * t),
        ANGLE + RIGHT + KIT_CAR + BAND + curve(lambda t: -0.003 * t),
        r"The curve is inside the wanted band",
        r"[Rr]ight wheel's curve is outside the wanted band",
    ),
    "C36": gauge(
        "lifted truck on swing beams: is it camber that eats the tires?",
        ANGLE + KIT_CAR + curve(lambda t: -0.02 * t),
        r"the car will dart over bumps",
        open="which drop arm or bracket: a swing beam with its radius arm is no layout; readings "
        "alone tell how much toe changes and what a height is worth",
    ),
    "C37": Brought(
        "solid axle, drag link steep after the lift: drop the arm or move the box?",
        ("suggest", BEAM, "--quiet"),
        (r"Fit raise outer 30\.0 mm, lower pitman ball 45\.0 mm, lower lateral link's frame",),
        code=1,
    ),
    "N02": gauge(
        "toe between the maker's two heights: in its band, and which way if not?",
        ANGLE
        + KIT_CAR
        + "between = { first = 20.0, second = -40.0, least_deg = 0.1, most_deg = 0.2 }\n"
        + rows((20.0, -0.1167), (0.0, 0.0), (-40.0, 0.2333)),
        r"0\.150 deg outside what the maker wants",
        r"lower the outer pivot or raise the rack",
    ),
    "N04": gauge(
        "the rack slides 3/16 in each way in its bushings",
        ANGLE.replace('"mm"', '"in"')
        + "rack_play = 0.1875\n"
        + 'car = { rod_length = 13.0, steering_arm = 5.0, arms = "behind" }\n'
        + rows(*((t, -0.25 * t) for t in (-2.0, -1.0, 0.0, 1.0, 2.0))),
        r"does not come back is slip",
    ),
    "N05": Brought(
        "after a hard bend the wheel stays off center: bump steer?",
        ("sheet", STRUT, "--text"),
        (r"Toe that a side load changes and that does not come back is slip",),
    ),
    "N08": Brought(
        "how low may the rack go if the outer end goes down as well?",
        ("suggest", "lower-rack.toml"),
        (r"20\.0 -12\.7 0\.100 .{0,20}10\.7 4\.5",),  # 20 mm of drop go with a rack 12.7 mm lower
        sweep(LOWER_RACK, "lower-rack.toml"),
        code=1,
    ),
    "N09": Brought(
        "knuckle plate or spaced crossmember?",
        ("suggest", "spaced.toml", "--verbose"),
        (r"knuckle plate", r"crossmember", r"roll center"),
        sweep(SPACED, "spaced.toml"),
        code=1,
    ),
    "N12": Brought(
        "center link: good enough straight ahead, and steered?",
        ("suggest", "center-link.toml", "--verbose"),
        (r"toe change, center link 40\.0 mm to the 0\.317 0\.804 deg right",),
        sweep(CENTER_LINK, "center-link.toml"),
        code=1,
    ),
    "N13": Brought(
        "leaf springs and no lateral link: was the drop arm right?",
        ("suggest", LEAVES, "--verbose"),
        (r"Fit lower pitman ball 60\.0 mm", r"caster +\+\d\.\d\d +\+\d\.\d\d deg"),
    ),
}
