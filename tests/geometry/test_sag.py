"""Bounds between places, against paths that are known everywhere."""

from dataclasses import dataclass

import numpy as np
import pytest

from geometry.clearance import Capsule, capsule_gap, disc_gap, plane_gap, separation
from geometry.rim import barrel_gap
from geometry.ring_sag import Ring, ring_floor
from geometry.rod_ends import inner_lean, inner_tilt, outer_lean, outer_tilt
from geometry.sag import (
    Grid,
    Swept,
    capsule_floor,
    corners,
    largest_sine,
    on_grid,
    plane_floor,
    remainder,
    smallest_corner,
    swept,
)
from geometry.vectors import Array, norm, rotation_about, turned

ROUNDING = 1e-9  # mm
TRAVEL = np.linspace(-50.0, 50.0, 7)
RACK = np.linspace(-60.0, 60.0, 9)
FINE = 12  # parts of a cell's side
CENTER, AXLE = np.array([0.0, 740.0, 300.0]), np.array([0.0, 1.0, 0.0])


@dataclass(frozen=True)
class Linkage:
    """A rod on an arm that turns about an upright axis, much as a steered wheel does it.

    Written out by sines, so that it is known wherever one asks.
    """

    arm: float
    lead: float
    swing: float

    def angle(self, travel: Array, rack: Array) -> Array:
        return self.lead + np.arcsin(np.clip(rack / self.arm, -1, 1)) + 2e-5 * travel**2

    def turn(self, travel: Array, rack: Array) -> Array:
        return rotation_about(
            np.array([0.0, 0.1, 1.0]) / np.hypot(0.1, 1.0), self.angle(travel, rack)
        )

    def outer(self, travel: Array, rack: Array) -> Array:
        arc = np.stack([0.0 * travel, -self.swing * travel**2, travel], axis=-1)
        return CENTER + arc + turned(self.turn(travel, rack), np.array([-self.arm, -30.0, -60.0]))

    def inner(self, travel: Array, rack: Array) -> Array:
        return np.stack([-120.0 + 0.0 * rack, 350.0 + rack, 240.0 + 0.0 * travel], axis=-1)

    def rod(self, travel: Array, rack: Array) -> Capsule:
        return Capsule(self.inner(travel, rack), self.outer(travel, rack), 9.0)

    def rod_seen_from_wheel(self, travel: Array, rack: Array) -> Capsule:
        """The outer end stands still and the inner one moves."""
        back = np.swapaxes(self.turn(travel, rack), -1, -2)
        away = self.inner(travel, rack) - self.outer(travel, rack)
        fixed = CENTER + np.array([-self.arm, -30.0, -60.0])
        return Capsule(fixed + turned(back, away), fixed + 0.0 * away, 9.0)


def linkages() -> list[Linkage]:
    rng = np.random.default_rng(0)
    ranges = (100.0, 150.0), (-0.2, 0.2), (1e-3, 3e-3)
    return [Linkage(*(float(rng.uniform(*ends)) for ends in ranges)) for _ in range(12)]


def first_grid() -> Grid:
    return Grid(TRAVEL[None], RACK[None])


def fine_grids(grid: Grid) -> Grid:
    """A grid of each cell of the first grid, (C, FINE + 1)."""
    share = np.linspace(0.0, 1.0, FINE + 1)

    def within(places: Array) -> Array:
        return places[:-1, None] + np.diff(places)[:, None] * share

    travel, rack = within(grid.travel[0]), within(grid.rack[0])
    return Grid(np.tile(travel, (len(rack), 1)), np.repeat(rack, len(travel), axis=0))


def over(place: Grid, part) -> Swept:
    return swept(part(*place.places), place)


def slack(known: Array, floor: Array) -> Array:
    """How far the smallest value that each cell really holds lies above its bound, (C,)."""
    return known.reshape(floor.size, -1).min(axis=1) - floor.ravel()


def assert_bounds(found: Array, within: float) -> None:
    assert found.min() >= -ROUNDING
    assert np.median(found) <= within


@pytest.mark.parametrize("car", linkages())
def test_no_path_is_farther_from_the_blend_of_its_corners_than_the_remainder(car):
    grid = first_grid()
    path = on_grid(car.outer(*grid.places), grid)
    missed = remainder(path, grid).sum(axis=0).ravel()
    a, b, c, d = (corner.reshape(-1, 1, 1, 3) for corner in corners(path))
    u, v = np.meshgrid(*[np.linspace(0.0, 1.0, FINE + 1)] * 2, indexing="ij")
    u, v = u[..., None], v[..., None]
    blend = (1 - u) * ((1 - v) * a + v * b) + u * ((1 - v) * d + v * c)
    fine = fine_grids(grid)
    off = norm(on_grid(car.outer(*fine.places), fine) - blend).reshape(missed.size, -1).max(axis=1)
    assert (off <= missed + ROUNDING).all()
    assert np.median(off / missed) > 0.5


@pytest.mark.parametrize("car", linkages())
def test_a_bar_is_never_nearer_than_the_bound(car):
    rng = np.random.default_rng(1)
    grid, fine = first_grid(), fine_grids(first_grid())
    for _ in range(6):
        start = np.array([-130.0, 600.0, 240.0]) + rng.uniform(-60.0, 60.0, 3)
        bar = Capsule(start, start + rng.uniform(-80.0, 80.0, 3), 6.0)
        part = over(grid, car.rod)
        floor = capsule_floor(part, swept(bar, grid), separation(part, bar))
        assert_bounds(slack(capsule_gap(car.rod(*fine.places), bar), floor), within=1.5)


@pytest.mark.parametrize("car", linkages())
def test_a_bar_that_moves_too_is_never_nearer_than_the_bound(car):
    def bar(travel: Array, rack: Array) -> Capsule:
        return Capsule(
            np.array([10.0, 380.0, 210.0]), car.outer(travel, 0.0 * rack) - [0, 20, 40], 12.0
        )

    grid, fine = first_grid(), fine_grids(first_grid())
    part, other = over(grid, car.rod), over(grid, bar)
    floor = capsule_floor(part, other, separation(part, other))
    assert_bounds(slack(capsule_gap(car.rod(*fine.places), bar(*fine.places)), floor), within=1.5)


@pytest.mark.parametrize("car", linkages())
def test_a_face_is_never_nearer_than_the_bound(car):
    point, normal = np.array([0.0, 0.0, 350.0]), np.array([0.1, 0.2, -1.0])
    grid, fine = first_grid(), fine_grids(first_grid())
    part = over(grid, car.rod)
    floor = plane_floor(part, point, normal)
    assert_bounds(slack(plane_gap(car.rod(*fine.places), point, normal), floor), within=1.0)


@pytest.mark.parametrize("car", linkages())
def test_a_face_along_which_the_nearest_end_moves_is_as_near_as_the_bound(car):
    def rod(travel: Array, rack: Array) -> Capsule:
        raised = car.outer(travel, rack) + np.array([0.0, 0.0, 100.0])
        return Capsule(car.inner(travel, rack), raised, 9.0)

    face = np.array([0.0, 0.0, 220.0]), np.array([0.0, 0.0, 1.0])
    grid, fine = first_grid(), fine_grids(first_grid())
    floor = plane_floor(over(grid, rod), *face)
    assert np.abs(slack(plane_gap(rod(*fine.places), *face), floor)).max() <= ROUNDING


def rim(capsule: Capsule) -> Array:
    return barrel_gap(
        capsule,
        CENTER,
        AXLE,
        stations=[-110.0, -60.0, -30.0, 80.0],
        inside_diameters=[390.0, 380.0, 376.0, 370.0],
    )


def disc(capsule: Capsule) -> Array:
    return disc_gap(capsule, CENTER, AXLE, diameter=300.0, inboard=5.0, outboard=30.0)


def deep_disc(capsule: Capsule) -> Array:
    return disc_gap(capsule, CENTER, AXLE, diameter=240.0, inboard=-60.0, outboard=-40.0)


@pytest.mark.parametrize("car", linkages())
@pytest.mark.parametrize(
    ("gap", "ring"),
    [
        (rim, Ring(CENTER, AXLE, (-110.0, 80.0))),
        (disc, Ring(CENTER, AXLE, (5.0, 30.0), solid=150.0)),
        (deep_disc, Ring(CENTER, AXLE, (-60.0, -40.0), solid=120.0)),
    ],
)
def test_a_rim_or_disc_is_never_nearer_than_the_bound(car, gap, ring):
    grid, fine = first_grid(), fine_grids(first_grid())
    part = over(grid, car.rod_seen_from_wheel)
    floor = ring_floor(gap(part), part, ring)
    assert_bounds(slack(gap(car.rod_seen_from_wheel(*fine.places)), floor), within=2.0)


def test_a_rod_along_the_wheel_is_bounded_without_a_fan():
    """A drag link that runs fore and aft has an inner end that may pass the rim's plane."""

    def rod(travel: Array, rack: Array) -> Capsule:
        inner = np.stack([-500.0 + rack, 725.0 + 0.02 * rack, 300.0 + travel], axis=-1)
        return Capsule(inner, np.array([-130.0, 722.0, 260.0]) + 0.0 * inner, 9.0)

    grid, fine = first_grid(), fine_grids(first_grid())
    part = over(grid, rod)
    floor = ring_floor(rim(part), part, Ring(CENTER, AXLE, (-110.0, 80.0)))
    assert slack(rim(rod(*fine.places)), floor).min() >= -ROUNDING


@pytest.mark.parametrize("car", linkages())
@pytest.mark.parametrize("rod_turns", [True, False])
def test_no_joint_tilts_farther_than_the_bound(car, rod_turns):
    rack_axis, bolt = np.array([0.05, 1.0, 0.0]), np.array([0.05, -0.1, -1.0])
    home = np.zeros(1)

    def at(travel: Array, rack: Array):
        rod = car.outer(travel, rack) - car.inner(travel, rack)
        return rod, turned(car.turn(travel, rack), bolt)

    held = (
        {}
        if rod_turns
        else {"rod_reference": at(home, home)[0], "bolt_reference": at(home, home)[1]}
    )
    grid, fine = first_grid(), fine_grids(first_grid())
    for lean, tilt, seen in (
        (outer_lean, outer_tilt, lambda rod, b: (rod, b)),
        (inner_lean, inner_tilt, lambda rod, _: (rod, rack_axis)),
    ):
        more = {"rod_turns": rod_turns, **held} if lean is outer_lean else {}
        known = on_grid(lean(*seen(*at(*grid.places)), **more), grid)
        np.testing.assert_allclose(
            norm(known).ravel(),
            np.sin(tilt(*seen(*at(*grid.places)), **more)).ravel(),
            rtol=0,
            atol=1e-14,
        )
        most = np.degrees(np.arcsin(largest_sine(known, grid)))
        really = -np.degrees(tilt(*seen(*at(*fine.places)), **more))
        assert_bounds(slack(really, -most), within=0.5)


def test_what_a_bound_gives_away_shrinks_with_the_square_of_the_cell():
    car, bar = (
        linkages()[0],
        Capsule(np.array([-130.0, 640.0, 180.0]), np.array([-120, 600, 190]), 6.0),
    )

    def given_away(width: float) -> float:
        side = np.linspace(-0.5 * width, 0.5 * width, 4)[None]
        grid = Grid(20.0 + side, 10.0 + side)
        part = over(grid, car.rod)
        floor = capsule_floor(part, swept(bar, grid), separation(part, bar))
        return float((smallest_corner(capsule_gap(part, bar)) - floor).max())

    assert given_away(15.0) < given_away(60.0) / 8.0


def test_a_place_without_a_pose_leaves_its_cells_without_a_bound():
    car, grid = linkages()[0], first_grid()
    rod = car.rod(*grid.places)
    rod.end[0, 0] = np.nan
    part, bar = swept(rod, grid), Capsule(np.zeros(3), np.ones(3), 6.0)
    floor = capsule_floor(part, swept(bar, grid), separation(part, bar))
    assert np.isnan(floor[0, 0, 0])
    assert np.isfinite(floor[0, 4:, 4:]).all()
