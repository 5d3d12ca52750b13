"""The findings for machines: schema.org data for a listing page, and W3C Web Annotations."""

import json
import uuid
from pathlib import PurePosixPath
from typing import Any

from pipeline import __version__, wording
from pipeline.models import Odometer
from pipeline.publish.handover import Flaw, Handover
from pipeline.publish.links import media_fragment, relative_address

# UN/CEFACT Recommendation 20: statute mile, kilometre, hour.
_UNIT_CODES = {"mi": "SMI", "km": "KMT", "h": "HUR"}
_TYPES = {"motorcycle": "Motorcycle"}  # schema.org has no type for the other kinds
_FRAGMENTS = "http://www.w3.org/TR/media-frags/"


def listing_data(handover: Handover) -> dict[str, Any]:
    """schema.org JSON-LD of the machine and of its video with one clip per flaw."""
    graph = [_vehicle(handover)]
    if handover.has_picture:
        graph.append(_video(handover))
    return {"@context": "https://schema.org", "@graph": graph}


def annotations(handover: Handover) -> dict[str, Any]:
    """The flaws as a W3C Web Annotation collection on the recording, in the order of the walk."""
    source = handover.record.source
    target = handover.media or relative_address(PurePosixPath(source.file_name))
    items = [_annotation(flaw, target, source.sha256) for flaw in handover.flaws]
    return {
        "@context": "http://www.w3.org/ns/anno.jsonld",
        "id": _urn(source.sha256, "collection"),
        "type": "AnnotationCollection",
        "label": f"Condition of {handover.title}",
        "total": len(items),
        "first": {
            "id": _urn(source.sha256, "page"),
            "type": "AnnotationPage",
            "startIndex": 0,
            "items": items,
        },
    }


def json_text(data: dict[str, Any]) -> str:
    """JSON that may stand inside an HTML script element as it is: no `<`, `>` or `&` in it."""
    text = json.dumps(data, indent=2, ensure_ascii=False)
    for char in "<>&\u2028\u2029":
        text = text.replace(char, f"\\u{ord(char):04x}")
    return text


def iso_duration(duration_s: float) -> str:
    """ISO 8601 duration in whole seconds, no unit skipped inside: 3605 is `PT1H0M5S`."""
    minutes, seconds = divmod(round(duration_s), 60)
    hours, minutes = divmod(minutes, 60)
    units = [(hours, "H"), (minutes, "M"), (seconds, "S")]
    while len(units) > 1 and not units[0][0]:
        units.pop(0)
    while len(units) > 1 and not units[-1][0]:
        units.pop()
    return "PT" + "".join(f"{number}{unit}" for number, unit in units)


def _vehicle(handover: Handover) -> dict[str, Any]:
    vehicle = handover.record.vehicle
    facts = handover.facts
    data: dict[str, Any] = {
        "@type": _TYPES.get(facts.get("Kind", ""), "Vehicle"),
        "@id": "#machine",
        "name": handover.title,
        "itemCondition": "https://schema.org/UsedCondition",
    }
    said = {
        "vehicleModelDate": str(vehicle.year) if vehicle.year else None,
        "brand": {"@type": "Brand", "name": wording.plain(vehicle.make)} if vehicle.make else None,
        "model": wording.plain(vehicle.model or ""),
        "sku": facts.get("Stock number"),
        "vehicleIdentificationNumber": facts.get("VIN") if vehicle.vin_valid else None,
        "knownVehicleDamages": "; ".join(flaw.sentence for flaw in handover.flaws) or None,
    }
    data |= {name: value for name, value in said.items() if value}
    if vehicle.odometer and vehicle.odometer.unit != "h":
        data["mileageFromOdometer"] = _quantity(vehicle.odometer)
    hours = vehicle.hours
    if hours is None and vehicle.odometer and vehicle.odometer.unit == "h":
        hours = vehicle.odometer.value
    if hours is not None:
        data["additionalProperty"] = {
            "@type": "PropertyValue",
            "name": "running time",
            "value": _number(hours),
            "unitCode": _UNIT_CODES["h"],
        }
    if handover.has_picture:
        data["subjectOf"] = {"@id": "#walkaround"}
    return data


def _quantity(odometer: Odometer) -> dict[str, Any]:
    return {
        "@type": "QuantitativeValue",
        "value": _number(odometer.value),
        "unitCode": _UNIT_CODES[odometer.unit],
    }


def _number(value: float) -> float | int:
    return int(value) if value.is_integer() else value


def _video(handover: Handover) -> dict[str, Any]:
    source = handover.record.source
    told = wording.counted(len(handover.flaws), "finding")
    data: dict[str, Any] = {
        "@type": "VideoObject",
        "@id": "#walkaround",
        "name": f"Walkaround of {handover.title}",
        "description": f"Spoken walkaround; {told} linked to their moments",
        "duration": iso_duration(source.duration_s),
        "hasPart": [_clip(flaw) for flaw in handover.flaws],
    }
    if _on_the_web(handover.media):
        data["contentUrl"] = handover.media
    if source.recorded_at:
        data["dateCreated"] = source.recorded_at.isoformat()
    return data


def _clip(flaw: Flaw) -> dict[str, Any]:
    clip: dict[str, Any] = {
        "@type": "Clip",
        "name": flaw.title,
        "description": flaw.sentence,
        "startOffset": round(flaw.moment.start_s, 3),
        "endOffset": round(flaw.moment.end_s, 3),
    }
    if _on_the_web(flaw.url):
        clip["url"] = flaw.url
    return clip


def _annotation(flaw: Flaw, target: str, digest: str) -> dict[str, Any]:
    return {
        "id": _urn(digest, flaw.finding.id),
        "type": "Annotation",
        "motivation": "describing",
        "generator": {"type": "Software", "name": f"Wearword {__version__}"},
        "body": {
            "type": "TextualBody",
            "value": flaw.sentence,
            "format": "text/plain",
            "language": "en",
        },
        "target": {
            "source": target,
            "selector": {
                "type": "FragmentSelector",
                "conformsTo": _FRAGMENTS,
                "value": media_fragment(flaw.moment),
            },
        },
    }


def _urn(digest: str, name: str) -> str:
    """An identifier that stays the same for the same recording and finding."""
    return uuid.uuid5(uuid.NAMESPACE_OID, f"{digest}/{name}").urn


def _on_the_web(url: str | None) -> bool:
    return url is not None and url.startswith(("https://", "http://"))
