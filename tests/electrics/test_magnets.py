"""Fields of magnets and passes over a sensor: closed forms, published points, a library, worked examples."""

import math
import random

import numpy
import pytest
from scipy.integrate import dblquad

from reedway.electrics import magnetdata, magnets, passing

SMALL = magnetdata.Magnet("cylinder", (5, 5))
BLOCK = magnetdata.Magnet("block", (20, 10, 5))
LONG = magnetdata.Magnet("cylinder", (6, 20))
TIMING = passing.Timing(0.05, 0.4, 5, 20, 2000, 20000)


def reed(operate, release=None, direction="along"):
    release = operate if release is None else release
    return magnets.Sensor("reed", direction, (operate, operate), (release, release))


def test_published_point_on_the_axis():
    # machinecalcs.com, its default example: 20 x 5 mm, 1.32 T: 171.5 mT at 5 mm, 295.2 at the face.
    disc = magnetdata.Magnet("cylinder", (20, 5))
    assert magnetdata.on_axis_mt(disc, 5, 1.32) == pytest.approx(171.5, abs=0.05)
    assert magnetdata.on_axis_mt(disc, 0, 1.32) == pytest.approx(295.2, abs=0.05)


@pytest.mark.parametrize(
    ("magnet", "remanence", "distance", "field"),
    [
        (SMALL, 1.32, 1, 364.1129),
        (SMALL, 1.32, 5, 49.9721),
        (SMALL, 1.32, 10, 10.7259),
        (SMALL, 1.32, 20, 1.82115),
        (BLOCK, 1.32, 2, 272.2985),
        (BLOCK, 1.32, 10, 61.1038),
        (BLOCK, 0.38, 5, 43.9039),
        (BLOCK, 0.38, 10, 17.5905),
    ],
)
def test_closed_forms_worked_by_hand(magnet, remanence, distance, field):
    # e-magnetica.pl, calculators of cylindrical and rectangular magnets.
    assert magnetdata.on_axis_mt(magnet, distance, remanence) == pytest.approx(field, rel=1e-5)


def test_library_agrees_with_the_closed_forms_to_a_billionth():
    rng = random.Random(6)
    for _ in range(100):
        sides = [rng.uniform(2, 30) for _ in range(3)]
        for shape, size in (("cylinder", sides[:2]), ("block", sides)):
            magnet = magnetdata.Magnet(shape, tuple(size))
            height, remanence = rng.uniform(0.5, 60), rng.uniform(0.2, 1.48)
            way = magnets.Way("vertical", height)
            seen = magnets.field_mt(magnet, way, remanence, numpy.array([0.0]))[0]
            wanted = magnetdata.on_axis_mt(magnet, height, remanence)
            assert abs(seen[2]) == pytest.approx(wanted, rel=1e-9), (shape, size, height)


@pytest.mark.parametrize(
    ("point", "distance"), [(12, 9.5443), (6.9, 11.9651), (4, 14.8292), (2, 19.3107), (1, 24.9602)]
)
def test_distances_of_published_hall_points(point, distance):
    # TI SLIS151G: operate 3.5, 6.9, 14.5 typ, 6.8, 12, 24 max, release 2 mT typ; magnet of 1.32 T.
    assert magnetdata.axis_distance_mm(SMALL, point, 1.32) == pytest.approx(distance, abs=1e-3)


def test_block_distances_and_too_strong_a_point():
    for point, distance in ((12, 21.9975), (6.9, 27.5107), (2, 43.8842)):
        assert magnetdata.axis_distance_mm(BLOCK, point, 1.32) == pytest.approx(distance, abs=1e-3)
    assert magnetdata.axis_distance_mm(SMALL, 2000, 1.32) == 0


def test_off_axis_against_the_library_and_charge_sheets():
    x = numpy.array([2.5, 5, 10, 15, 20])
    seen = magnets.field_mt(SMALL, magnets.Way("vertical", 10), 1.32, x)
    assert abs(seen[:, 0]) == pytest.approx([2.93582, 4.45246, 3.70452, 2.04373, 1.05738], abs=1e-5)
    assert seen[:, 2] == pytest.approx([9.51341, 6.76206, 2.07013, 0.30811, -0.12675], abs=1e-5)
    # Coulomb's law over the two pole faces, integrated by scipy.
    along, up = _charge_sheets(1.32, 2.5, 5.0, 10.0, -12.5)
    assert abs(seen[2, 0]) == pytest.approx(abs(along), rel=1e-6)
    assert seen[2, 2] == pytest.approx(up, rel=1e-6)


def _charge_sheets(remanence, radius, length, x, z):
    field = [0.0, 0.0]
    for sign, face in ((1, length / 2), (-1, -length / 2)):
        for axis in (0, 1):

            def part(angle, r, axis=axis, face=face):
                dx, dy, dz = x - r * math.cos(angle), -r * math.sin(angle), z - face
                return r * (dx, dz)[axis] / (dx * dx + dy * dy + dz * dz) ** 1.5

            field[axis] += sign * dblquad(part, 0, radius, 0, 2 * math.pi, epsabs=1e-10)[0]
    return [1000 * remanence / (4 * math.pi) * part for part in field]


def test_abreast_of_a_lying_magnet():
    # 6 x 20 mm, 1.20 T, beside its middle; a dipole would say 54 mT at 10 mm.
    for distance, field in ((8, 25.6605), (10, 19.2400), (15, 9.35606), (25, 2.79619)):
        seen = magnets.field_mt(LONG, magnets.Way("along", distance - 3), 1.20, numpy.array([0.0]))
        assert abs(seen[0, 0]) == pytest.approx(field, rel=1e-5)


def test_lying_block_lies_on_its_second_side():
    way = magnets.Way("along", 4)
    assert magnets.half_height_mm(BLOCK, "along") == 5
    # Far away every magnet is a dipole: B = mu0 m / (4 pi r3) abreast, Br V in place of mu0 m.
    far = magnets.field_mt(BLOCK, magnets.Way("along", 500), 1.3, numpy.array([0.0]))
    assert abs(far[0, 0]) == pytest.approx(1300 * 1000 / (4 * math.pi * 505**3), rel=1e-3)
    across = magnets.field_mt(BLOCK, magnets.Way("across", 4), 1.3, numpy.array([0.0]))
    assert abs(across[0, 1]) == pytest.approx(
        abs(magnets.field_mt(BLOCK, way, 1.3, numpy.array([0.0]))[0, 0])
    )


@pytest.mark.parametrize(
    ("magnet", "way", "remanence", "point", "wanted"),
    [
        # A standing magnet closes a lengthwise reed twice.
        (SMALL, magnets.Way("vertical", 10), 1.32, 2, [(-15.165, -1.608), (1.608, 15.165)]),
        # A lying one three times at 2 mT, once at 3 mT.
        (LONG, magnets.Way("along", 12), 1.20, 2, [None, (-11.479, 11.479), None]),
        (LONG, magnets.Way("along", 12), 1.20, 3, [(-10.454, 10.454)]),
    ],
)
def test_closings_per_pass(magnet, way, remanence, point, wanted):
    spans = magnets.closings(magnet, way, reed(point), magnets.Case(remanence, point, point))
    assert len(spans) == len(wanted)
    for span, expected in zip(spans, wanted, strict=True):
        if expected:
            assert span == pytest.approx(expected, abs=1e-3)


def test_zero_and_side_lobe_of_a_lying_magnet():
    x = numpy.linspace(0, 40, 40001)
    along = magnets.field_mt(LONG, magnets.Way("along", 12), 1.20, x)[:, 0]
    along = along * (1 if along[0] > 0 else -1)
    assert along[0] == pytest.approx(9.3561, abs=1e-4)
    assert x[(along < 0).argmax()] == pytest.approx(13.801, abs=2e-3)
    assert along.min() == pytest.approx(-2.6644, abs=1e-4)
    assert x[along.argmin()] == pytest.approx(22.295, abs=2e-2)


def test_hysteresis_joins_what_it_must():
    case = magnets.Case(1.20, 2.0, 0.05)
    wide = magnets.closings(LONG, magnets.Way("along", 12), reed(2.0, 0.05), case)
    narrow = magnets.closings(LONG, magnets.Way("along", 12), reed(2.0), magnets.Case(1.20, 2.0, 2.0))
    assert wide[0][0] == pytest.approx(narrow[0][0], abs=1e-3)
    assert magnets.longest_mm(wide) > magnets.longest_mm(narrow)
    assert magnets.widest_gap_mm(wide) < magnets.widest_gap_mm(narrow)


def test_warm_magnets_are_weaker():
    # Makers' tables: NdFeB -0.12 %/K, ferrite -0.20 %/K.
    assert magnetdata.remanence_t(1.30, "N42", 60) == pytest.approx(1.2376)
    assert magnetdata.remanence_t(0.38, "Y30", 60) == pytest.approx(0.3496)
    assert magnetdata.remanence_t(0.38, "C5", -10) == pytest.approx(0.4028)


def test_judging_a_pass():
    verdict = passing.judge(LONG, magnets.Way("along", 8), reed(3, 1.5), TIMING)
    assert verdict.seen and verdict.once and not verdict.rests
    assert verdict.closed_ms[0] == pytest.approx(verdict.length_mm[0] / 0.4)
    assert verdict.closed_ms[1] == pytest.approx(verdict.length_mm[1] / 0.05)
    far = passing.judge(LONG, magnets.Way("along", 70), reed(3, 1.5), TIMING)
    assert not far.seen and far.least == []
    twice = passing.judge(SMALL, magnets.Way("vertical", 10), reed(2), passing.Timing(0.01, 0.4, 5, 20, 100))
    assert not twice.once  # 3.2 mm at 10 mm/s is 321 ms, longer than opening and rearm
    slow = passing.judge(
        LONG, magnets.Way("along", 8), reed(3, 1.5), passing.Timing(0.05, 0.4, 5, 20, 2000, 300)
    )
    assert slow.rests


def test_sideways_tolerance_and_height_window():
    way, sensor = magnets.Way("along", 8), reed(3, 1.5)
    aside = passing.sideways_mm(LONG, way, sensor, TIMING)
    assert 5 < aside < 30
    case = magnets.least(LONG, sensor)
    for offset, good in ((aside, True), (aside + 0.2, False)):
        spans = magnets.closings(LONG, magnets.Way("along", 8, offset), sensor, case)
        assert (magnets.longest_mm(spans) >= TIMING.needed_mm) is good
    window = passing.height_window_mm(LONG, way, sensor, TIMING)
    assert window is not None
    assert window[0] <= 8 <= window[1]
    assert not passing.judge(LONG, magnets.Way("along", window[1] + 0.2), sensor, TIMING).seen
    dull = magnets.Sensor("reed", "along", (800, 800), (400, 400))
    assert passing.height_window_mm(SMALL, way, dull, TIMING) is None
    assert passing.sideways_mm(SMALL, way, dull, TIMING) == 0


def test_a_turned_engine_carries_its_magnet_on_the_other_side():
    assert passing.turned_asides_mm(6, 4) == (2, 10)
    assert passing.turned_asides_mm(6, -4, 1) == (1, 11)


def test_bench_measurement_gives_back_the_sensor():
    way = magnets.Way("vertical", 10)
    spans = magnets.closings(SMALL, way, reed(2, 1), magnets.Case(SMALL.middle_t, 2, 1))
    seen = magnets.from_bench(SMALL, way, reed(9), spans[0][0], spans[-1][1], 0.25)
    assert seen.operate_mt == pytest.approx((1.5, 2.5), rel=1e-3)
    assert seen.release_mt == pytest.approx((0.75, 1.25), rel=1e-3)
    with pytest.raises(ValueError, match="measure again"):
        magnets.from_bench(SMALL, way, reed(9), -15, 7, 0.25)


def test_hall_feels_one_pole_only():
    hall = magnets.Sensor("hall", "along", (2, 2), (2, 2))
    assert len(magnets.closings(SMALL, magnets.Way("vertical", 10), hall, magnets.Case(1.32, 2, 2))) == 1


def test_impossible_parts():
    with pytest.raises(ValueError, match="grade"):
        magnetdata.Magnet("cylinder", (5, 5), "N99")
    with pytest.raises(ValueError, match="cylinder has"):
        magnetdata.Magnet("block", (5, 5))
    with pytest.raises(ValueError, match="releases at less"):
        reed(1, 2)
    with pytest.raises(ValueError, match="slowest"):
        passing.Timing(0.5, 0.1, 5, 20, 100)
