"""A case: one wheel's suspension, how the car is used, and what may be changed."""

from itertools import product

from pydantic import ValidationInfo, field_validator, model_validator

from optimizer.errors import Fault
from optimizer.models.accuracy import Accuracy
from optimizer.models.aim import Aim
from optimizer.models.alignment import Alignment, raise_unless_there
from optimizer.models.base import FaultList, FrozenModel, as_empty, quoted, refuse, unknown_key
from optimizer.models.carriers import missing_carriers
from optimizer.models.custom import PivotRoom
from optimizer.models.display import Display
from optimizer.models.effort import Effort, Minutes
from optimizer.models.front_view import with_typical_x
from optimizer.models.hardware import (
    Crossmember,
    KnucklePlate,
    LateralLink,
    LeafSpring,
    LinkageChoice,
    LowerBallJoint,
    Rack,
    Steering,
)
from optimizer.models.limits import Joint, Limits
from optimizer.models.measured_lengths import MeasuredLength, unknown_names
from optimizer.models.obstacles import Obstacle
from optimizer.models.points import (
    POINTS_OF_LAYOUT,
    AxlePoints,
    BeamAxlePoints,
    Layout,
    LayoutPoints,
    LeafAxlePoints,
)
from optimizer.models.quantities import (
    FormatOne,
    Name,
)
from optimizer.models.ride import Car, Ride, Wheel
from optimizer.models.shelf import OuterPivot, Shelf, step_faults
from optimizer.models.stud import Stud, TieRodThread
from optimizer.models.vocabulary import SteeredBy, Vocabulary, words_for
from optimizer.units import Side, Units

OF_AXLES: dict[type[FrozenModel], tuple[type[LayoutPoints], str]] = {
    LateralLink: (BeamAxlePoints, "only a beam-axle has a lateral link"),
    LeafSpring: (LeafAxlePoints, "only a leaf-axle has leaf springs"),
}
NOT_AT_THE_REAR = {
    "kind": "a rear axle is not steered; its rod is the toe link",
    "rack_travel": "a rear wheel has no lock: its toe link ends at the subframe",
    "rack_axis": "nothing moves the inner pivot; joint.inner.bolt_axis says how its joint sits",
    "check_at": "a rear wheel has no lock: toe is told straight ahead alone",
}


class Case(FrozenModel):
    """One wheel's suspension as measured, with everything that was said about it.

    All lengths are in millimeters, also where `units` is "in".
    """

    format: FormatOne
    """format = 1, the only one that this version reads"""
    name: Name
    """a line of text that names the car"""
    units: Units
    """the unit, "mm" or "in", of every length in the file"""
    layout: Layout
    """the suspension, such as "strut" or "double-wishbone", that the points belong to"""
    points: LayoutPoints
    """the table of measured points"""
    wheel: Wheel
    """the table that holds tire_radius"""
    ride: Ride
    """the table that holds bump and droop, the travel that the car uses"""
    car: Car = as_empty()
    """Sizes of the whole car."""
    steering: Steering = as_empty()
    """What steers the wheel, how far, and the place of the steering arms."""
    shelf: Shelf | None = None
    """Pieces that a stack must be built from."""
    outer_pivot: OuterPivot = as_empty()
    """What may be fitted at the outer pivot."""
    custom_pivot: PivotRoom | None = None
    """Room for a pivot made to measure; looked into only where that is asked for."""
    rack: Rack = as_empty()
    """What may be fitted at the rack, or what the inner pivot sits in."""
    lower_ball_joint: LowerBallJoint = as_empty()
    """What is or may be fitted at the lower ball joint."""
    knuckle_plate: KnucklePlate = as_empty()
    """What is or may be fitted between the strut's foot and the steering arm."""
    crossmember: Crossmember = as_empty()
    """What is or may be fitted between crossmember and body."""
    lateral_link: LateralLink = as_empty()
    """What is or may be fitted at the lateral link's brackets, on a beam axle."""
    leaf_spring: LeafSpring = as_empty()
    """What is or may be fitted between leaf springs and axle, and as their shackles."""
    alignment: Alignment | None = None
    """Camber and caster to be set at ride height; left out, they stay as they come."""
    aim: Aim = as_empty()
    """The wanted toe curve: a gain or a band."""
    effort: Effort = as_empty()
    """How much work each change is; decides between settings that are good enough."""
    minutes: Minutes = as_empty()
    """How long each reading takes; decides which one is worth taking next."""
    accuracy: Accuracy = as_empty()
    """How well the points are known."""
    measured: tuple[MeasuredLength, ...] = ()
    """Lengths measured beside the points."""
    joint: Joint = as_empty()
    """The tie rod and its joints."""
    limits: Limits = as_empty()
    """Limits that belong to no part alone."""
    stud: Stud | None = None
    """The stud under the outer joint; left out, its strength is not judged."""
    thread: TieRodThread | None = None
    """The tie rod's thread; left out, its engagement is not judged."""
    obstacles: tuple[Obstacle, ...] = ()
    """Parts that the rod and the outer joint must not touch."""
    display: Display = as_empty()
    """How reports state toe."""

    @model_validator(mode="before")
    @classmethod
    def _front_view_has_typical_x(cls, typed: object) -> object:
        accuracy = typed.get("accuracy") if isinstance(typed, dict) else None
        if isinstance(accuracy, dict) and accuracy.get("x") == "unknown":
            assert isinstance(typed, dict)
            return with_typical_x(typed)
        return typed

    @field_validator("points", mode="before")
    @classmethod
    def _points_of_the_layout(cls, typed: object, info: ValidationInfo) -> object:
        if "layout" not in info.data:
            raise FaultList([])  # which points are right is not known; layout has its own fault
        model = POINTS_OF_LAYOUT[info.data["layout"]]
        return model.model_validate(typed, context=info.context)

    @field_validator("steering")
    @classmethod
    def _steers_this_wheel(cls, steering: Steering, info: ValidationInfo) -> Steering:
        odd = [key for key in NOT_AT_THE_REAR if key in steering.model_fields_set]
        if _at_the_rear(info) and odd:
            message = 'must be left out where car.axle is "rear"'
            raise FaultList([Fault(key, f"{message}\n({NOT_AT_THE_REAR[key]})") for key in odd])
        if _on_axle(info) and "kind" in steering.model_fields_set:
            hint = "(its drag link is steered by the pitman arm)"
            raise FaultList([Fault("kind", f"must be left out on a {info.data['layout']}\n{hint}")])
        return steering

    @field_validator("aim")
    @classmethod
    def _also_is_of_cars_that_have_it(cls, aim: Aim, info: ValidationInfo) -> Aim:
        car: Car | None = info.data.get("car")
        if aim.also is None or car is None:
            return aim
        if _at_the_rear(info) and (aim.also.steered_deg or aim.also.turn_toe_out_deg):
            key = "steered_deg" if aim.also.steered_deg else "turn_toe_out_deg"
            message = 'must be left out where car.axle is "rear"\n(a rear wheel is not steered)'
            raise FaultList([Fault(f"also.{key}", message)])
        if aim.also.roll_steer is not None and car.track is None:
            raise FaultList([Fault("also.roll_steer", "must be given along with car.track")])
        if aim.also.turn_toe_out_deg is not None and _on_axle(info):
            hint = "(one drag link turns both wheels, farther one way than the other)"
            message = f"must be left out on a {info.data['layout']}\n{hint}"
            raise FaultList([Fault("also.turn_toe_out_deg", message)])
        return aim

    @field_validator("car")
    @classmethod
    def _an_axle_of_drag_links_steers(cls, car: Car, info: ValidationInfo) -> Car:
        if _on_axle(info) and car.axle == "rear":
            raise FaultList(
                [Fault("axle", f'must be "front" on a {info.data["layout"]}, got "rear"')]
            )
        return car

    @field_validator("rack")
    @classmethod
    def _only_a_rack_tilts(cls, rack: Rack, info: ValidationInfo) -> Rack:
        steering = info.data.get("steering")
        if any(rack.tilt) and (_on_axle(info) or _at_the_rear(info)):
            raise FaultList([Fault("tilt", "must be left out where no rack joins both wheels")])
        if any(rack.tilt) and steering is not None and steering.kind != "rack":
            hint = "(a center link hangs on two arms; state its height)"
            raise FaultList([Fault("tilt", f"must be left out of a center link\n{hint}")])
        return rack

    @field_validator("outer_pivot")
    @classmethod
    def _either_steps_or_shelf(cls, pivot: OuterPivot, info: ValidationInfo) -> OuterPivot:
        if "shelf" in info.data:
            refuse(step_faults(pivot.stack, info.data["shelf"]))
        return pivot

    @field_validator("alignment")
    @classmethod
    def _means_are_there(
        cls, alignment: Alignment | None, info: ValidationInfo
    ) -> Alignment | None:
        if alignment is None or "points" not in info.data:
            return alignment
        raise_unless_there(alignment, info.data["points"].model_dump(), info.data["layout"])
        if alignment.caster_deg is not None and _at_the_rear(info):
            message = 'must be left out where car.axle = "rear": that wheel does not steer'
            raise FaultList([Fault("caster_deg", message)])
        return alignment

    @field_validator("accuracy")
    @classmethod
    def _accuracy_names_points(cls, accuracy: Accuracy, info: ValidationInfo) -> Accuracy:
        if accuracy.left_right and _on_axle(info):
            hint = "(the other end of the axle is taken for its mirror image)"
            message = f"must be left out on a {info.data['layout']}\n{hint}"
            raise FaultList([Fault("left_right", message)])
        if "points" not in info.data:
            return accuracy
        known = type(info.data["points"]).model_fields
        named = {"points": accuracy.points, "covariance_root": accuracy.covariance_root}
        odd = [
            Fault(f"{key}.{name}", unknown_key(name, known))
            for key, by_point in named.items()
            if isinstance(by_point, dict)
            for name in by_point
            if name not in known
        ]
        refuse(odd)
        return accuracy

    @field_validator("measured")
    @classmethod
    def _lengths_name_points(
        cls, lengths: tuple[MeasuredLength, ...], info: ValidationInfo
    ) -> tuple[MeasuredLength, ...]:
        if "points" in info.data:
            refuse(unknown_names(lengths, type(info.data["points"]).model_fields))
        return lengths

    @field_validator("lateral_link", "leaf_spring")
    @classmethod
    def _axle_is_there(
        cls, part: LateralLink | LeafSpring, info: ValidationInfo
    ) -> LateralLink | LeafSpring:
        points, (of_axle, message) = info.data.get("points"), OF_AXLES[type(part)]
        if points is None or isinstance(points, of_axle) or part == type(part)():
            return part
        raise FaultList([Fault("", f"must be left out: {message}")])

    @field_validator("lower_ball_joint", "knuckle_plate", "crossmember")
    @classmethod
    def _ball_joint_is_there(
        cls, part: LowerBallJoint | KnucklePlate | Crossmember, info: ValidationInfo
    ) -> LowerBallJoint | KnucklePlate | Crossmember:
        points, of_joint = info.data.get("points"), isinstance(part, LowerBallJoint)
        idle = part.drop == (0.0,) if isinstance(part, LowerBallJoint) else part == type(part)()
        if points is None or hasattr(points, "lower_ball_joint") or idle:
            return part
        message = "must be left out: the points of this layout name no lower ball joint"
        raise FaultList([Fault("drop" if of_joint else "", message)])

    @field_validator("obstacles")
    @classmethod
    def _part_that_carries_is_there(
        cls, parts: tuple[Obstacle, ...], info: ValidationInfo
    ) -> tuple[Obstacle, ...]:
        if "points" not in info.data:
            return parts
        names = type(info.data["points"]).model_fields
        refuse(
            fault.inside(f"[{i}]")
            for i, part in enumerate(parts, start=1)
            for fault in missing_carriers(part, names)
        )
        return parts

    @field_validator("obstacles")
    @classmethod
    def _obstacles_can_be_told_apart(cls, parts: tuple[Obstacle, ...]) -> tuple[Obstacle, ...]:
        names = [part.name for part in parts]
        refuse(
            Fault(
                f"[{i + 1}].name",
                f"must differ from that of obstacles[{names.index(x) + 1}], got {quoted(x)}",
            )
            for i, x in enumerate(names)
            if x in names[:i]
        )
        return parts

    @property
    def steering_kind(self) -> SteeredBy | None:
        """What steers the wheel; None on a rear axle."""
        if isinstance(self.points, AxlePoints):
            return "drag-link"
        return None if self.car.axle == "rear" else self.steering.kind

    @property
    def linkage_choices(self) -> tuple[LinkageChoice, ...]:
        """What may be chosen of the linkage itself; the first is what the car has."""
        if isinstance(self.points, BeamAxlePoints):
            return tuple(LinkageChoice(0.0, *pair) for pair in self.lateral_link.pairs)
        if isinstance(self.points, LeafAxlePoints):
            return self.leaf_spring.choices
        plates, spacers = self.knuckle_plate.thickness, self.crossmember.spacer
        lists = plates, spacers, self.rack.tilt, self.lower_ball_joint.drop
        return tuple(
            LinkageChoice(drop, knuckle_plate=plate, crossmember_spacer=spacer, rack_tilt=tilt)
            for plate, spacer, tilt, drop in product(*lists)
        )

    @property
    def toe_diameter(self) -> float:
        """Where toe is read as a distance: as displayed, or at the tire. [mm]."""
        return self.display.diameter or 2.0 * self.wheel.tire_radius

    @property
    def side(self) -> Side:
        """Side of the car that the points lie on."""
        return "left" if self.points.wheel_center[1] > 0.0 else "right"

    @property
    def words(self) -> Vocabulary:
        """What the trade calls the parts of this car."""
        on_leaves = self.layout == "leaf-axle"
        return words_for(self.car.axle, self.steering_kind, self.display.words, on_leaves=on_leaves)


def _on_axle(info: ValidationInfo) -> bool:
    """Whether the points read so far are those of a steered axle."""
    return isinstance(info.data.get("points"), AxlePoints)


def _at_the_rear(info: ValidationInfo) -> bool:
    """Whether what was read so far puts the wheel on a rear axle."""
    return "car" in info.data and info.data["car"].axle == "rear"
