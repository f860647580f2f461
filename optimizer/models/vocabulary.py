"""What the trade calls the parts around the rod that sets a wheel's toe, one row a linkage.

Every sentence that names one of these parts takes its words from here.  A linkage with words of its
own (a drag link and its pitman ball, say) is one more row of `STEERED`, which
`Case.steering_kind` chooses.
"""

from functools import cache
from typing import Literal

from msgspec import Struct
from msgspec.structs import fields, replace

from optimizer.models.dialect import Dialect, spelled

Axle = Literal["front", "rear"]
SteeringKind = Literal["rack", "center-link"]
SteeredBy = SteeringKind | Literal["drag-link"]


class Vocabulary(Struct, frozen=True):
    """Words, and parts of sentences, for one linkage.

    `inner` is what the inner pivot sits in, what spacers raise and what moves in a turn; `carrier`
    what the inner pivots of both sides sit in; `axis` what the wheel toes about.  `lock`, the line
    of a sheet, and the half-sentences `straight`, `at_locks` and `locked` are empty where nothing
    steers the wheel.  `failure`, `never`, `raised` and `shifted` belong to cautions;
    `inner_line` is what the inner joint's tilt counts from where that asks for a doubt;
    `off_center` is what the model leaves out of a turn, `other_side` how the other wheel of a turn
    is known; `stands`, `freed`, `sweeping` and `swing` say what lets the wheel be moved over its
    travel; `reset` is what is done to the rod's length at ride height, `resetting` the same as a
    thing and `is_reset` as done, `alike` what the rod of the other side then asks for; `farther`
    and `nearer` say where an inner pivot goes that lengthens or shortens the rod, for it may lie
    past the car's middle.
    """

    steers: bool
    wheel: str
    rod: str
    short_rod: str
    arm: str
    axis: str
    inner: str
    carrier: str
    straight: str
    at_locks: str
    extremes: str
    locked: str
    lock: str
    aligned: str
    reset: str
    other_side: str
    farther: str
    nearer: str
    also_worn: str
    failure: str
    never: str
    raised: str
    shifted: str
    inner_line: str
    off_center: str
    stands: str = (
        "Stands under the body, wheels chocked, hands clear: with the spring out the arm is on a "
        "jack."
    )
    freed: str = (
        "Take the spring out or back it off, disconnect the anti-roll bar, note where the bump "
        "rubber touches."
    )
    resetting: str = "the toe reset"
    is_reset: str = "toe reset"
    alike: str = ", and that both sides of the car come out alike"
    sweeping: str = "Spring out, bar off"
    swing: str = "with the spring out, swing the wheel by hand"

    @property
    def and_reset(self) -> str:
        """What is done to the rod's length, within a sentence."""
        return self.reset[:1].lower() + self.reset[1:]

    @property
    def rod_thread(self) -> str:
        """Name of the thread by which the rod is set to length."""
        return f"{self.rod.replace(' ', '-')} thread"


RACK = Vocabulary(
    steers=True,
    wheel="wheel",
    rod="tie rod",
    short_rod="rod",
    arm="steering arm",
    axis="steering axis",
    inner="rack",
    carrier="rack",
    straight=", steering straight",
    at_locks=" at both locks",
    extremes="full lock and full droop",
    locked="steering locked at the center, ",
    lock="Lock the steering at the center of the rack, not by the column.",
    aligned="caster, camber and static toe",
    reset="Reset toe",
    other_side="the other side a mirror image",
    farther="inboard",
    nearer="outboard",
    also_worn="",
    failure="A steering part that fails takes the steering with it.",
    never="",
    raised="Raising or lowering the rack moves the steering shaft too: check its joints, the "
    "rack's mounts and the hoses over the whole lock.",
    shifted="Moving the rack forward or rearward needs mounts made for it and lengthens or "
    "shortens the steering shaft: check that its joints and its slip keep their full engagement, "
    "and rods, hoses and everything near the rack over the whole lock.",
    inner_line="",
    off_center="",
)
CENTER_LINK = replace(
    RACK,
    inner="center link",
    carrier="center link",
    lock="Lock the steering at the center link, halfway between its stops, not by the column.",
    also_worn="idler and pitman arm, ",
    never="; never bend a pitman or idler arm",
    raised="A center link's height is set at the idler and the pitman arm: move both alike, so "
    "that it stays level, take play out of idler and steering box first, and check the link "
    "against everything around it over the whole lock.",
    shifted="A center link goes fore and aft with its idler and pitman arm: move both alike, keep "
    "their arms even on both sides, and check the link against everything around it over the whole "
    "lock.",
    inner_line="the center link's own line",
    off_center="The center link is taken as moving along its line alone; on its pitman and idler "
    "arms it swings fore and aft as well.",
)
DRAG_LINK = replace(
    RACK,
    rod="drag link",
    short_rod="drag link",
    axis="kingpin",
    inner="pitman ball",
    carrier="pitman arm",
    reset="Center the steering wheel",
    resetting="centering the steering wheel",
    is_reset="steering wheel centered",
    alike="",
    other_side="the other wheel following by the cross rod",
    farther="away from this wheel",
    nearer="toward this wheel",
    lock="Lock the steering at the pitman arm, straight ahead, not by the column.",
    also_worn="kingpins, steering box and lateral-link bushings, ",
    never="; never bend or weld a pitman arm",
    raised="Another pitman arm sets its ball's height: check its splines, its nut, and its way "
    "past frame and springs over the whole lock.",
    shifted="The pitman ball goes fore and aft with the steering box or with another pitman arm, "
    "which changes how fast it steers: check its nut and splines, and its way past frame and "
    "springs over the whole lock.",
    inner_line="straight across the car",
    off_center="The pitman ball is taken as moving along its line alone; on its arm it swings as "
    "well.",
)
LEAVES = replace(
    DRAG_LINK,
    also_worn="kingpins, steering box, spring eyes, shackles, center bolts and U-bolts, ",
    stands="Stands under the frame, wheels chocked, hands clear: a bent leaf spring holds what "
    "lifts the truck.",
    freed="Leave the leaf springs in, they lead the axle: disconnect dampers and anti-roll bar, "
    "move frame against axle by jacks, or each spring taken down to its main leaf, both wheels "
    "alike, and note where the bump stops touch.",
    sweeping="Springs in, dampers and bar off",
    swing="with the springs in, jack the axle",
)
TOE_LINK = Vocabulary(
    steers=False,
    wheel="rear wheel",
    rod="toe link",
    short_rod="toe link",
    arm="toe-link arm",
    axis="axis that the wheel toes about",
    inner="inner bracket",
    carrier="subframe",
    straight="",
    at_locks="",
    extremes="full bump and full droop",
    locked="",
    lock="",
    aligned="camber and static toe",
    reset="Reset toe",
    other_side="",
    farther="inboard",
    nearer="outboard",
    also_worn="",
    failure="A toe link that fails lets its wheel toe as it likes: it steers the car from "
    "the rear.",
    never="",
    raised="Spacers under the toe link's inner bracket ask for longer bolts: check that their "
    "threads are fully engaged, that bracket and spacers bear flat on the subframe, and that the "
    "link clears everything around it over the whole travel.",
    shifted="Moving the toe link's inner bracket forward or rearward asks for a bracket or holes "
    "made for it: have them made by someone qualified, and check that the link clears everything "
    "around it over the whole travel.",
    inner_line="straight across the car",
    off_center="",
)
STEERED: dict[SteeredBy, Vocabulary] = {
    "rack": RACK,
    "center-link": CENTER_LINK,
    "drag-link": DRAG_LINK,
}


@cache
def words_for(
    axle: Axle | None,
    steering: SteeredBy | None,
    dialect: Dialect = "us",
    *,
    on_leaves: bool = False,
) -> Vocabulary:
    """Choose the words for a wheel; a front axle and a rack where nothing is said."""
    words = TOE_LINK if axle == "rear" else STEERED[steering or "rack"]
    words = LEAVES if on_leaves else words
    texts = {one.name: getattr(words, one.name) for one in fields(words)}
    told = {name: spelled(x, dialect) for name, x in texts.items() if isinstance(x, str)}
    return Vocabulary(steers=words.steers, **told)
