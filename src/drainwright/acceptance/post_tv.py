"""Post-lining TV: each place asked by itself with its own wrinkle limit; and the video."""

from __future__ import annotations

from collections.abc import Iterator

from drainwright.acceptance.case import Case
from drainwright.acceptance.verdict import Proof, Subject, answered
from drainwright.checks import Check, at_most, not_assessed
from drainwright.records.post_inspection import (
    Looked,
    PlaceSeen,
    PostInspection,
    TvPlace,
    VideoState,
)
from drainwright.records.survey import ObservationKind
from drainwright.sources import Citation, cite

_NONE = "no post-lining inspection is on record"
_SOURCE = cite("practice", "post-lining TV, place by place")
_BENDS = (TvPlace.BENDS,)
_COLLAR = (TvPlace.COLLAR_UP, TvPlace.COLLAR_DOWN, TvPlace.RIM)


def wrinkle_limit(case: Case, place: TvPlace) -> tuple[float, Citation]:
    """The highest wrinkle that is allowed at a place [m], and where the limit comes from."""
    bore = case.sheet.lateral.inside_diameter
    if bore is None:
        bore = min((one.case.host_diameter for one in case.places), default=0.0)
    value = case.specification.value
    if place in _COLLAR:
        return value("wrinkle_collar_share") * bore, case.source("wrinkle_collar_share")
    if place in _BENDS:
        return value("wrinkle_bend_share") * bore, case.source("wrinkle_bend_share")
    most = max(value("wrinkle_share") * bore, value("wrinkle_least"))
    return most, case.source("wrinkle_share")


def post_lining_tv(case: Case) -> Subject:
    """What the newest inspection saw at each place, and whether water stood outside."""
    seen = case.inspection
    if seen is None:
        check = not_assessed("post-lining TV", "", _SOURCE, _NONE)
        return Subject("post_tv", "Post-lining TV", (check,))
    checks = [check for place in TvPlace for check in _place(case, seen, place)]
    checks.append(_no_leak(case, seen))
    if seen.main_reduced is not None:
        most = case.specification.value("main_reduced_most")
        source = case.source("main_reduced_most")
        checks.append(at_most("main narrowed", seen.main_reduced, most, "share", source))
    remarks = tuple(_remarks(case, seen))
    return Subject("post_tv", "Post-lining TV", tuple(checks), tuple(_proofs(seen)), remarks)


def _place(case: Case, seen: PostInspection, place: TvPlace) -> Iterator[Check]:
    answers = seen.seen(place)
    if not answers:
        yield not_assessed(place.value, "", _SOURCE, "nobody answered")
    for one in answers:
        yield _answer(case, one)


def _answer(case: Case, one: PlaceSeen) -> Check:
    name, limit = one.place.value, wrinkle_limit(case, one.place)
    match one.looked:
        case Looked.SOUND:
            return answered(name, _SOURCE, one.words, yes=True)
        case Looked.NOT_SEEN:
            return not_assessed(name, "", _SOURCE, one.words or "not seen")
        case Looked.DEFECT:
            return answered(name, _SOURCE, one.words or "a defect, not described", yes=False)
        case Looked.NONE:
            return _none_there(case, one)
        case Looked.WRINKLE:
            if one.wrinkle is None:
                return not_assessed(f"{name}: wrinkle", "small_length", limit[1], "not measured")
            return at_most(
                f"{name}: wrinkle", one.wrinkle, limit[0], "small_length", limit[1], one.words
            )


def _none_there(case: Case, one: PlaceSeen) -> Check:
    """No bend is an answer only where pre-lining TV saw none; the other places always exist."""
    name, survey = one.place.value, case.sheet.survey
    if one.place is not TvPlace.BENDS:
        return not_assessed(name, "", _SOURCE, "this place is always there")
    before = survey is not None and any(
        seen.kind is ObservationKind.BEND for seen in survey.observations
    )
    if before:
        return not_assessed(name, "", _SOURCE, "pre-lining TV saw a bend")
    return answered(name, _SOURCE, "no bend in this lateral", yes=True)


def _no_leak(case: Case, seen: PostInspection) -> Check:
    """No leak counts only where groundwater stood above the pipe that day."""
    name, source = "no leak with groundwater outside", cite("practice", "water level that day")
    leaks = [one for one in seen.places if one.looked is Looked.DEFECT and "leak" in one.words]
    if leaks:
        return answered(name, source, leaks[0].words, yes=False)
    if seen.groundwater is None:
        return not_assessed(name, "", source, "nobody looked at the groundwater that day")
    depth = max((place.depth for place in case.places), default=None)
    if depth is None:
        return not_assessed(name, "", source, "the depth of the pipe is not known")
    if seen.groundwater >= depth:
        return not_assessed(name, "", source, "the groundwater stood below the pipe that day")
    return answered(name, source, "groundwater stood above the lowest lined point", yes=True)


def _remarks(case: Case, seen: PostInspection) -> Iterator[str]:
    if len(case.inspections) > 1:
        states = ", ".join(
            f"{one.number} {one.state}{f' ({one.state_reason})' if one.state_reason else ''}"
            for one in sorted(case.inspections, key=lambda one: one.number)
        )
        yield f"Inspections on record: {states}; the newest counts."
    yield "A tight bore says nothing of the annulus between liner and host."
    if seen.remark:
        yield seen.remark


def _proofs(seen: PostInspection) -> Iterator[Proof]:
    yield Proof(f"inspection {seen.number}, {seen.on}, by {seen.by}", f"post_inspection {seen.key}")
    for one in seen.places:
        if one.still:
            yield Proof(f"still, {one.place}", one.still)


def video(case: Case) -> Subject:
    """Whether the video is there and shows what it must."""
    source, seen = cite("south-bend", "pre- and post-lining video"), case.inspection
    if seen is None or not seen.video.file or seen.state is VideoState.MISSING:
        check = answered("video delivered", source, "missing until it is shown", yes=False)
        return Subject("video", "Video", (check,))
    fit = seen.video
    checks = [
        answered("video delivered", source, fit.file, yes=seen.state is not VideoState.REJECTED)
    ]
    if seen.state is VideoState.REJECTED:
        checks = [answered("video delivered", source, f"rejected: {seen.state_reason}", yes=False)]
    for words, yes in (
        ("identity shown", fit.identity),
        ("footage zeroed at the main", fit.zeroed),
        ("tap panned", fit.tap_panned),
        ("lens clear", fit.lens_clear),
    ):
        checks.append(answered(words, source, "" if yes is not None else "not answered", yes=yes))
    checks.append(_most(case, "speed of the camera", fit.speed, "tv_speed_most"))
    checks.append(_most(case, "water in the pipe", fit.water_level, "tv_water_most"))
    checks.append(_delivered(case, seen))
    proof = Proof(f"video {fit.file}", f"post_inspection {seen.key}")
    return Subject("video", "Video", tuple(checks), (proof,))


def _most(case: Case, name: str, value: float | None, limit: str) -> Check:
    found = case.specification.limit(limit)
    if value is None:
        return not_assessed(name, found.kind, found.source, "not answered")
    return at_most(name, value, case.specification.value(limit), found.kind, found.source)


def _delivered(case: Case, seen: PostInspection) -> Check:
    name, source = "delivered after the inspection", case.source("tv_delivery_most")
    if seen.delivered is None:
        return not_assessed(name, "time", source, "the day of delivery is not written down")
    took = (seen.delivered - seen.on).days * 86400.0
    most = case.specification.value("tv_delivery_most")
    return at_most(name, took, most, "time", source)
