"""The stud as a round bar held at one end: printed examples, and the exact elastic solution."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.stud import (
    bending_stress,
    force_at_stress,
    shear_stress,
    stud_stress,
    von_mises_stress,
)

from .printed import half_last_digit, published

PRINTED = published("stud_strength")
STRESS_RTOL = 1e-12  # a handful of multiplications
POISSON = 0.3  # of steel; common practice, no source

sizes = st.floats(5.0, 30.0)
levers = st.floats(1.0, 120.0)
forces = st.floats(1.0, 50_000.0)


def torsion_stress(torque, diameter):
    return 16.0 * torque / (np.pi * diameter**3)


def as_printed(value, printed):
    return value == pytest.approx(float(printed), rel=0.0, abs=float(half_last_digit(printed)))


def crank():
    example = PRINTED["crank"]
    diameter = float(example["diameter"])
    normal = bending_stress(1.0, example["moment"], diameter) / 1000.0
    return example, normal, torsion_stress(example["torque"], diameter) / 1000.0


def test_the_crank_bends_as_printed():
    example, normal, torsion = crank()
    assert as_printed(normal, example["bending_stress"])
    assert as_printed(torsion, example["torsion_stress"])


def test_the_crank_s_printed_principal_stresses_strain_it_as_its_bending_and_torsion_do():
    example, normal, torsion = crank()
    first, second = (float(stress) for stress in example["principal_stresses"])
    # Their last digit is worth 0.05 kpsi each, and the strain grows no faster than their sum.
    assert von_mises_stress(normal, torsion) == pytest.approx(
        np.sqrt(first**2 - first * second + second**2), rel=0.0, abs=0.1
    )


def test_the_lever_of_example_5_3_yields_at_the_printed_force():
    example = PRINTED["lever"]
    diameter, strength = float(example["diameter"]), 1000.0 * example["yield_strength"]
    normal = bending_stress(1.0, example["moment_per_force"], diameter)
    torsion = torsion_stress(example["torque_per_force"], diameter)
    by_energy = strength / von_mises_stress(normal, torsion)
    by_shear = 0.5 * strength / np.hypot(0.5 * normal, torsion)
    assert as_printed(by_energy, example["force_by_distortion_energy"])
    assert as_printed(by_shear, example["force_by_greatest_shear"])


def elastic_section(lever, radius, steps=60):
    """Exact stresses of a round bar under a unit end load along x, over its section.

    Timoshenko & Goodier, Theory of Elasticity, bending of a bar of circular section (from memory;
    the next test holds it to the load and to the free surface).
    """
    share, turn = np.meshgrid(
        (np.arange(steps) + 0.5) / steps, np.linspace(0.0, 2.0 * np.pi, 4 * steps, endpoint=False)
    )
    r = radius * np.sqrt(share)  # every ring of one area
    x, y = r * np.cos(turn), r * np.sin(turn)
    inertia = np.pi * radius**4 / 4.0
    normal = lever * x / inertia
    along = (3.0 + 2.0 * POISSON) / (8.0 * (1.0 + POISSON) * inertia)
    along = along * (radius**2 - x**2 - (1.0 - 2.0 * POISSON) / (3.0 + 2.0 * POISSON) * y**2)
    across = -(1.0 + 2.0 * POISSON) / (4.0 * (1.0 + POISSON) * inertia) * x * y
    return x, y, normal, along, across


def test_the_exact_solution_carries_the_load_and_leaves_the_surface_free():
    radius = 7.0
    x, y, _, along, across = elastic_section(30.0, radius, steps=400)
    # 1e-4: the rings' middles stand for the rings.
    assert along.mean() * np.pi * radius**2 == pytest.approx(1.0, abs=1e-4)
    outermost = np.hypot(x, y) > 0.999 * radius
    through = (along * x + across * y)[outermost] / radius
    assert np.abs(through).max() < 1e-2 * along.max()


@given(share=st.floats(0.1, 10.0), diameter=sizes)
def test_no_place_of_the_exact_section_is_strained_beyond_the_stated_stress(share, diameter):
    _, _, normal, along, across = elastic_section(share * diameter, 0.5 * diameter)
    worst = von_mises_stress(normal, np.hypot(along, across)).max()
    assert worst <= stud_stress(1.0, share * diameter, diameter)


@pytest.mark.parametrize(("share", "excess"), [(1.0, 0.05), (2.0, 0.02), (4.0, 0.01)])
def test_the_stated_stress_exceeds_beam_theory_by_little(share, excess):
    diameter = 14.0
    most = max(
        bending_stress(1.0, share * diameter, diameter),
        np.sqrt(3.0) * shear_stress(1.0, diameter),
    )
    assert most < stud_stress(1.0, share * diameter, diameter) < (1.0 + excess) * most


def test_beam_theory_has_its_worst_place_at_the_fiber_or_on_the_axis():
    height = np.linspace(-1.0, 1.0, 2001)
    for share in (0.05, 0.2, 0.3, 1.0):
        bent, sheared = bending_stress(1.0, share, 1.0), shear_stress(1.0, 1.0)
        over_the_section = von_mises_stress(bent * height, sheared * (1.0 - height**2))
        worst = max(bent, np.sqrt(3.0) * sheared)
        assert over_the_section.max() == pytest.approx(worst, rel=STRESS_RTOL)


@given(force=forces, lever=levers, diameter=sizes)
def test_the_force_at_a_stress_makes_that_stress(force, lever, diameter):
    stress = stud_stress(force, lever, diameter)
    assert force_at_stress(stress, lever, diameter) == pytest.approx(force, rel=STRESS_RTOL)


@given(lever=levers, diameter=sizes, taller=st.floats(0.1, 60.0))
def test_a_taller_stack_lowers_the_force_but_never_below_its_share_of_the_lever(
    lever, diameter, taller
):
    before, after = force_at_stress(830.0, np.array([lever, lever + taller]), diameter)
    assert before * lever / (lever + taller) <= after * (1.0 + STRESS_RTOL)
    assert after < before


def test_a_bar_with_no_lever_is_only_sheared():
    area = np.pi / 4.0 * 12.0**2
    assert stud_stress(900.0, 0.0, 12.0) == pytest.approx(
        np.sqrt(3.0) * 4.0 / 3.0 * 900.0 / area, rel=STRESS_RTOL
    )


def test_one_stud_equals_its_row_of_the_batch():
    heights = np.array([20.0, 35.0, 50.0])
    batch = force_at_stress(640.0, heights, 13.0)
    assert batch.shape == (3,)
    assert batch[1] == force_at_stress(640.0, 35.0, 13.0)
