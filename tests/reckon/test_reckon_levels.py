"""The four levels of what is not known: spreads, correlations, and who shares what with whom."""

from dataclasses import replace

import numpy as np
import pytest
from tests.reckon.supper import heated_s

from pitreckon import catalog
from pitreckon.catalog.calibrated import calibrated
from pitreckon.reckon.draws import prior, prior_at
from pitreckon.reckon.levels import PITS, ROW, UNKNOWNS, levels_of
from pitreckon.section import material

RACKS, BUTT = catalog.cut("st-louis-ribs"), catalog.cut("boston-butt")
KETTLE, PELLET = catalog.pit("kettle"), catalog.pit("pellet-cooker")
N = 4000


def levels(cut=RACKS, pit=KETTLE, wrap="foil", **how):
    return levels_of(cut, pit, wrap, measured=how.pop("measured", False), **how)


def test_the_calibration_is_a_covariance():
    fit = calibrated()
    assert len(fit.addresses) == len(set(fit.addresses)) > 60
    assert np.linalg.eigvalsh(fit.correlation).min() > 0.0
    np.testing.assert_allclose(np.diag(fit.correlation), 1.0)
    assert (fit.sd > 0.0).all()
    # What one runs high the other makes up for: a rate and its cut's own factor are known by their product alone.
    rate, collagen = fit.index("constant:gelatin_rate_per_s"), fit.index("cut:boston-butt.texture.collagen_rate")
    assert fit.correlation[rate, collagen] < -0.2


def test_the_root_makes_the_correlations_and_keeps_the_names():
    each = levels()
    correlation = each.mix @ each.mix.T
    np.testing.assert_allclose(np.diag(correlation), 1.0, atol=1e-9)
    whole = each.loads @ each.loads.T + np.diag(each.memory**2 + each.own**2)
    np.testing.assert_allclose(correlation * np.outer(each.sd, each.sd), whole, rtol=1e-5, atol=1e-9)
    assert np.diag(each.mix).min() > 0.6
    assert not each.mix[:PITS, PITS:].any()


def test_members_have_the_spreads_and_correlations_that_the_levels_say():
    each = levels()
    z = each.mix @ prior_at(each, "racks", "pit", N, 3)
    assert np.abs(z.mean(axis=1)).max() < 0.05
    np.testing.assert_allclose(z.std(axis=1), 1.0, atol=0.05)
    np.testing.assert_allclose(np.corrcoef(z), each.mix @ each.mix.T, atol=5.0 / np.sqrt(N))


def test_all_items_have_one_pit_and_one_set_of_constants():
    racks, butt = levels(), levels(BUTT)
    z = [
        each.sd[:, None] * (each.mix @ prior_at(each, name, "pit", N, 3)) for each, name in ((racks, "a"), (butt, "b"))
    ]
    np.testing.assert_allclose(z[0][:PITS], z[1][:PITS], atol=1e-8)
    # The activation energy is no piece's own: the same in every member of both.
    np.testing.assert_allclose(z[0][ROW["gelatin_ea"]], z[1][ROW["gelatin_ea"]], rtol=1e-6, atol=1e-3)
    other = levels(BUTT, PELLET)
    elsewhere = other.sd[:, None] * (other.mix @ prior_at(other, "b", "elsewhere", N, 3))
    assert abs(np.corrcoef(z[0][ROW["offset"]], elsewhere[ROW["offset"]])[0, 1]) < 0.05


@pytest.mark.parametrize("name", ["gelatin", "crust", "offset", "scale"])
def test_the_correlation_of_two_pieces_is_that_of_their_members(name):
    racks, butt = levels(), levels(BUTT)
    said = racks.mix @ racks.correlation(butt, same_pit=True, same_item=False) @ butt.mix.T
    a = racks.mix @ prior_at(racks, "a", "pit", N, 3)
    b = butt.mix @ prior_at(butt, "b", "pit", N, 3)
    got = np.corrcoef(a[ROW[name]], b[ROW[name]])[0, 1]
    assert got == pytest.approx(said[ROW[name], ROW[name]], abs=5.0 / np.sqrt(N))


def test_what_is_alone_is_alone():
    each = levels()
    assert (each.alone >= 0.0).all()
    assert each.alone[:PITS].max() < 1e-6
    assert each.alone[ROW["gelatin_ea"]] < 0.02
    assert each.alone[ROW["spot"]] > 0.95


def test_a_measured_thickness_and_one_of_many():
    usual, measured, many = levels(), levels(measured=True), levels(many=True)
    assert measured["scale"] < 0.6 * usual["scale"] < usual["scale"] < many["scale"]


def test_a_number_can_be_put_in():
    each = levels()
    w = prior("racks", "pit", 16, 1)
    moved = each.at(w, offset=0.5, spot=0.0)
    z = each.mix @ moved
    np.testing.assert_allclose(z[ROW["offset"]], 0.5)
    np.testing.assert_allclose(z[ROW["spot"]], 0.0, atol=1e-9)
    rest = [i for i, name in enumerate(UNKNOWNS) if name not in {"offset", "spot"}]
    np.testing.assert_allclose(z[rest], (each.mix @ w)[rest], atol=1e-9)


@pytest.mark.kernel
@pytest.mark.parametrize("key", ["boston-butt", "turkey-breast", "brisket-flat"])
def test_thicker_at_the_same_weight_is_as_much_larger(key):
    """The share of ``size_share`` against the section itself, made thicker and narrower at one weight."""
    cut = catalog.cut(key)
    shape, by = cut.shape, 1.35
    names = ("height_m", "diameter_m") if hasattr(shape, "height_m") else ("thickness_m", "length_m")
    powers = (1.0, -0.5) if hasattr(shape, "height_m") else (1.0, -1.0)
    new = {
        name: replace(getattr(shape, name), value=getattr(shape, name).value * by**power)
        for name, power in zip(names, powers, strict=True)
    }
    thicker = replace(cut, shape=replace(shape, **new))
    slope = np.log(heated_s(thicker) / heated_s(cut)) / np.log(by)
    larger = np.log(heated_s(cut, scale=by) / heated_s(cut)) / np.log(by)
    assert slope / larger == pytest.approx(material.size_share(cut), abs=0.1)
