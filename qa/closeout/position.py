"""position.geojson: run, access points, defect and sleeves as places (RFC 7946, WGS 84)."""

import json

from qa.domain.closeout import AccessPointFact, CloseoutFacts

Position = tuple[float, float]
DECIMALS = 7
"""About a centimetre on the ground; more would be a claim nobody measured (RFC 7946, 11.2)."""


def position_geojson(facts: CloseoutFacts) -> bytes:
    """Write the places as one FeatureCollection, the same bytes for the same facts."""
    collection = {"type": "FeatureCollection", "features": features(facts)}
    text = json.dumps(collection, ensure_ascii=False, allow_nan=False, indent=1)
    return f"{text}\n".encode()


def features(facts: CloseoutFacts) -> list[dict[str, object]]:
    """List the features: the run, its access points, the defect, each sleeve."""
    run, repair = facts.run, facts.repair
    found = [
        _feature(
            f"run:{run.ref}",
            _line(_at(run.upstream), _at(run.downstream)),
            kind="run",
            ref=run.ref,
            material=run.material,
            diameter_mm=run.diameter_mm,
            length_m=run.length_m,
            upstream_ref=run.upstream.ref,
            downstream_ref=run.downstream.ref,
        )
    ]
    found += [_access_point(end, run.ref) for end in (run.upstream, run.downstream)]
    found.append(
        _feature(
            f"defect:{repair.work_order}:{repair.ref}",
            _point(along(facts, repair.defect_distance_m)),
            kind="defect",
            **_owner(facts),
            defect_code=repair.defect_code,
            distance_m=repair.defect_distance_m,
            extent_m=repair.defect_extent_m,
        )
    )
    return found + [_sleeve(facts, number) for number in range(len(facts.sleeves))]


def along(facts: CloseoutFacts, distance_m: float) -> Position | None:
    """Find the position at a distance from the datum, straight along the run.

    Linear in longitude and latitude, as RFC 7946, section 3.1.1 defines a line. A distance
    beyond an access point (a sleeve reaching into it) is drawn at that access point; the
    property beside it keeps the measured figure. None where the run has no positions.
    """
    start, end = facts.run.upstream, facts.run.downstream
    if facts.repair.datum_ref == end.ref:
        start, end = end, start
    first, last = _at(start), _at(end)
    if first is None or last is None:
        return None
    share = min(max(distance_m / facts.run.length_m, 0.0), 1.0)
    return (
        round(first[0] + (last[0] - first[0]) * share, DECIMALS),
        round(first[1] + (last[1] - first[1]) * share, DECIMALS),
    )


def _access_point(end: AccessPointFact, run_ref: str) -> dict[str, object]:
    """Describe one end of the run."""
    identity = f"access-point:{end.ref}"
    return _feature(identity, _point(_at(end)), kind="access point", ref=end.ref, run_ref=run_ref)


def _sleeve(facts: CloseoutFacts, number: int) -> dict[str, object]:
    """Describe one sleeve by its two ends."""
    sleeve = facts.sleeves[number]
    return _feature(
        f"sleeve:{facts.repair.work_order}:{facts.repair.ref}:{number + 1}",
        _line(along(facts, sleeve.start_m), along(facts, sleeve.end_m)),
        kind="sleeve",
        **_owner(facts),
        number=number + 1,
        start_m=sleeve.start_m,
        end_m=sleeve.end_m,
        kit_lot=sleeve.kit_lot,
        resin_lots=list(sleeve.resin_lots),
    )


def _owner(facts: CloseoutFacts) -> dict[str, object]:
    """Repeat the owner's own references, so that a feature can be found by them."""
    return {
        "repair_ref": facts.repair.ref,
        "attempt": facts.repair.attempt,
        "work_order": facts.repair.work_order,
        "run_ref": facts.run.ref,
        "datum_ref": facts.repair.datum_ref,
    }


def _at(point: AccessPointFact) -> Position | None:
    """Give longitude first, as GeoJSON does."""
    if point.lon_deg is None or point.lat_deg is None:
        return None
    return round(point.lon_deg, DECIMALS), round(point.lat_deg, DECIMALS)


def _point(at: Position | None) -> dict[str, object] | None:
    """Make a Point, or the null of an unlocated feature (RFC 7946, section 3.2)."""
    return None if at is None else {"type": "Point", "coordinates": list(at)}


def _line(start: Position | None, end: Position | None) -> dict[str, object] | None:
    """Make a LineString of two positions, or the null of an unlocated feature."""
    if start is None or end is None:
        return None
    return {"type": "LineString", "coordinates": [list(start), list(end)]}


def _feature(
    identity: str, geometry: dict[str, object] | None, **properties: object
) -> dict[str, object]:
    """Put one feature together."""
    return {"type": "Feature", "id": identity, "geometry": geometry, "properties": properties}
