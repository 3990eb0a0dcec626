"""The places of a repair on the map."""

import json
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import geojson
import pytest
from hypothesis import given
from hypothesis import strategies as st

from qa.closeout.position import DECIMALS, along, features, position_geojson
from qa.domain.closeout import AccessPointFact, CloseoutFacts
from tests.qa.closeout_example import Example, example

ONE_STEP = 10**-DECIMALS


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Example:
    """One finished repair."""
    return example(tmp_path_factory.mktemp("files"), photos=1)


def positions(geometry: dict) -> list[tuple[float, float]]:
    """List the positions of a Point or LineString."""
    found = geometry["coordinates"]
    return [tuple(found)] if geometry["type"] == "Point" else [tuple(one) for one in found]


def test_another_program_reads_the_places(made: Example) -> None:
    """The geojson library takes the file and finds nothing wrong in it."""
    collection = geojson.loads(position_geojson(made.facts))

    assert isinstance(collection, geojson.FeatureCollection)
    assert collection.is_valid
    assert all(one.is_valid for one in collection.features)
    assert [one["properties"]["kind"] for one in collection.features] == [
        "run", "access point", "access point", "defect", "sleeve",
    ]  # fmt: skip


def test_longitude_comes_first_and_stays_on_the_globe(made: Example) -> None:
    """RFC 7946, section 3.1.1: longitude, then latitude, in degrees."""
    for one in json.loads(position_geojson(made.facts))["features"]:
        for lon, lat in positions(one["geometry"]):
            assert -180 <= lon <= 180
            assert -90 <= lat <= 90
            assert (lon < 0) == (made.facts.run.upstream.lon_deg < 0)


def test_no_position_claims_more_than_seven_decimals(made: Example) -> None:
    """A centimetre is as fine as anybody measured."""
    for one in features(made.facts):
        for position in positions(one["geometry"]):
            assert all(round(value, DECIMALS) == value for value in position)


def test_features_are_found_by_the_owners_references(made: Example) -> None:
    """Defect and sleeve name repair, work order, run and datum."""
    for one in features(made.facts)[3:]:
        properties = one["properties"]
        assert properties["repair_ref"] == "R-20417"
        assert properties["work_order"] == "WO-2031-088"
        assert properties["run_ref"] == "RUN-2041-2042"
        assert properties["datum_ref"] == "AP-2041"


def test_a_run_without_survey_is_an_unlocated_feature(tmp_path: Path) -> None:
    """RFC 7946, section 3.2: an unlocated feature has a null geometry, and keeps its figures."""
    facts = example(tmp_path, photos=1, located=False).facts

    assert geojson.loads(position_geojson(facts)).is_valid
    assert all(one["geometry"] is None for one in features(facts))
    assert features(facts)[-1]["properties"]["start_m"] == 30.98


@given(st.floats(0, 1), st.floats(-179, 179), st.floats(-89, 89), st.floats(-0.01, 0.01))
def test_a_distance_lies_where_rfc_7946_puts_it(
    made: Example, share: float, lon: float, lat: float, step: float
) -> None:
    """F(lon, lat) = (lon0 + (lon1 - lon0) t, lat0 + (lat1 - lat0) t), section 3.1.1."""
    facts = moved(made.facts, lon, lat, step)
    start, end = facts.run.upstream, facts.run.downstream
    found = along(facts, share * facts.run.length_m)

    for value, low, high in (
        (found[0], start.lon_deg, end.lon_deg),
        (found[1], start.lat_deg, end.lat_deg),
    ):
        exact = Fraction(low) + (Fraction(high) - Fraction(low)) * Fraction(share)
        assert abs(Fraction(value) - exact) <= Fraction(1.6 * ONE_STEP)


@given(st.floats(0, 62.4))
def test_the_same_place_has_two_distances(made: Example, distance: float) -> None:
    """31 m from one access point is L - 31 m from the other."""
    other = replace(made.facts, repair=replace(made.facts.repair, datum_ref="AP-2042"))

    here, there = along(made.facts, distance), along(other, 62.4 - distance)

    assert here == pytest.approx(there, abs=1.1 * ONE_STEP)


def test_a_sleeve_reaching_into_an_access_point_ends_there_on_the_map(made: Example) -> None:
    """A sleeve from -0.2 m is drawn from 0; its figure stays -0.2."""
    sleeve = replace(made.facts.sleeves[0], start_m=-0.2, end_m=0.8)
    found = features(replace(made.facts, sleeves=(sleeve,)))[-1]

    assert positions(found["geometry"])[0] == along(made.facts, 0.0)
    assert found["properties"]["start_m"] == -0.2


def moved(facts: CloseoutFacts, lon: float, lat: float, step: float) -> CloseoutFacts:
    """Put the run somewhere else."""
    upstream = AccessPointFact("AP-2041", lat, lon)
    downstream = AccessPointFact("AP-2042", lat + step, lon - step)
    return replace(facts, run=replace(facts.run, upstream=upstream, downstream=downstream))
