import json
from collections.abc import Callable
from typing import Any

import pytest
import rdflib

from pipeline.models import Odometer, Record
from pipeline.publish.handover import Handover
from pipeline.publish.linked_data import annotations, iso_duration, json_text, listing_data

HandoverOf = Callable[..., Handover]


OA = rdflib.Namespace("http://www.w3.org/ns/oa#")

# Of http://www.w3.org/ns/anno.jsonld (W3C Web Annotation Vocabulary, appendix A) the terms in use.
ANNOTATION_CONTEXT = {
    "oa": "http://www.w3.org/ns/oa#",
    "dc": "http://purl.org/dc/elements/1.1/",
    "dcterms": "http://purl.org/dc/terms/",
    "as": "http://www.w3.org/ns/activitystreams#",
    "foaf": "http://xmlns.com/foaf/0.1/",
    "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
    "rdfs": "http://www.w3.org/2000/01/rdf-schema#",
    "id": "@id",
    "type": "@type",
    "Annotation": "oa:Annotation",
    "TextualBody": "oa:TextualBody",
    "FragmentSelector": "oa:FragmentSelector",
    "AnnotationCollection": "as:OrderedCollection",
    "AnnotationPage": "as:OrderedCollectionPage",
    "Software": "as:Application",
    "describing": "oa:describing",
    "body": {"@id": "oa:hasBody", "@type": "@id"},
    "target": {"@id": "oa:hasTarget", "@type": "@id"},
    "source": {"@id": "oa:hasSource", "@type": "@id"},
    "selector": {"@id": "oa:hasSelector", "@type": "@id"},
    "motivation": {"@id": "oa:motivatedBy", "@type": "@vocab"},
    "conformsTo": {"@id": "dcterms:conformsTo", "@type": "@id"},
    "generator": {"@id": "as:generator", "@type": "@id"},
    "first": {"@id": "as:first", "@type": "@id"},
    "items": {"@id": "as:items", "@type": "@id", "@container": "@list"},
    "total": "as:totalItems",
    "startIndex": "as:startIndex",
    "value": "rdf:value",
    "format": "dc:format",
    "language": "dc:language",
    "label": "rdfs:label",
    "name": "foaf:name",
}


def machine_and_video(handover: Handover) -> tuple[dict[str, Any], dict[str, Any]]:
    data = json.loads(json_text(listing_data(handover)))
    assert data["@context"] == "https://schema.org"
    machine, video = data["@graph"]
    return machine, video


def test_the_machine_is_described(record: Record, handover_of: HandoverOf) -> None:
    machine, video = machine_and_video(handover_of(record))
    assert machine["@type"] == "Motorcycle"
    assert machine["vehicleModelDate"] == "2016"
    assert machine["brand"] == {"@type": "Brand", "name": "Fenwick"}
    assert machine["vehicleIdentificationNumber"] == "1M8GDM9AXKP042788"
    assert machine["mileageFromOdometer"] == {
        "@type": "QuantitativeValue",
        "value": 12400,
        "unitCode": "SMI",
    }
    assert "Severe crack on the right front brake rotor" in machine["knownVehicleDamages"]
    assert machine["subjectOf"] == {"@id": video["@id"]}


@pytest.mark.parametrize(
    ("change", "field", "value"),
    [
        ({"kind": "snowmobile"}, "@type", "Vehicle"),
        ({"vin_valid": False}, "vehicleIdentificationNumber", None),
        ({"vin_valid": None}, "vehicleIdentificationNumber", None),
        ({"make": None}, "brand", None),
        ({"odometer": Odometer(value=12, unit="km")}, "mileageFromOdometer", "KMT"),
        ({"odometer": Odometer(value=12, unit="h")}, "additionalProperty", "HUR"),
        ({"odometer": Odometer(value=12, unit="h")}, "mileageFromOdometer", None),
        ({"hours": 31.5}, "additionalProperty", "HUR"),
    ],
)
def test_only_what_was_said_is_described(
    record: Record, handover_of: HandoverOf, change: dict[str, Any], field: str, value: str | None
) -> None:
    record.vehicle = record.vehicle.model_copy(update=change)
    machine, _ = machine_and_video(handover_of(record))
    found = machine.get(field)
    assert (found["unitCode"] if isinstance(found, dict) else found) == value


def test_the_video_has_a_clip_per_flaw(record: Record, handover_of: HandoverOf) -> None:
    _, video = machine_and_video(handover_of(record))
    assert video["@type"] == "VideoObject"
    assert video["duration"] == "PT1M"
    assert video["contentUrl"] == "https://shop.example/walk.mp4"
    assert video["hasPart"][0] == {
        "@type": "Clip",
        "name": "Left saddlebag: scuff",
        "description": "3 considerable scuffs on the left saddlebag (near the seam), "
        "the largest about 2 in",
        "startOffset": 6.4,
        "endOffset": 11.25,
        "url": "https://shop.example/walk.mp4#t=6.4,11.25",
    }


def test_a_local_video_has_no_address_on_the_web(record: Record, handover_of: HandoverOf) -> None:
    _, video = machine_and_video(handover_of(record, media="../walk.mp4"))
    assert "contentUrl" not in video
    assert not [clip for clip in video["hasPart"] if "url" in clip]


def test_a_sound_recording_is_no_video(record: Record, handover_of: HandoverOf) -> None:
    record.source.has_video = False
    graph = listing_data(handover_of(record))["@graph"]
    assert [item["@type"] for item in graph] == ["Motorcycle"]


@pytest.mark.published
def test_annotations_follow_the_w3c_model(record: Record, handover_of: HandoverOf) -> None:
    # W3C Web Annotation, example 20: source, "#" and value joined are the fragment's address.
    data = annotations(handover_of(record))
    items = data["first"]["items"]
    assert data["@context"] == "http://www.w3.org/ns/anno.jsonld"
    assert data["type"] == "AnnotationCollection"
    assert data["total"] == len(items) == 6
    assert len({item["id"] for item in items}) == 6
    target = items[0]["target"]
    assert items[0]["type"] == "Annotation"
    assert target["selector"] == {
        "type": "FragmentSelector",
        "conformsTo": "http://www.w3.org/TR/media-frags/",
        "value": "t=6.4,11.25",
    }
    joined = f"{target['source']}#{target['selector']['value']}"
    assert joined == handover_of(record).flaws[0].url


@pytest.mark.filterwarnings("ignore:ConjunctiveGraph:DeprecationWarning")
@pytest.mark.published
def test_annotations_are_read_by_an_independent_library(
    record: Record, handover_of: HandoverOf
) -> None:
    # JSON-LD 1.1 as rdflib reads it.
    data = annotations(handover_of(record))
    graph = rdflib.Graph()
    local = data | {"@context": ANNOTATION_CONTEXT}  # the context itself is on the network
    graph.parse(data=json_text(local), format="json-ld")
    found = list(graph.subjects(rdflib.RDF.type, OA.Annotation))
    assert len(found) == data["total"]
    for one in found:
        assert list(graph.objects(one, OA.motivatedBy)) == [OA.describing]
        (body,), (target,) = graph.objects(one, OA.hasBody), graph.objects(one, OA.hasTarget)
        assert graph.value(body, rdflib.RDF.type) == OA.TextualBody
        assert graph.value(target, OA.hasSource) == rdflib.URIRef("https://shop.example/walk.mp4")
        selector = graph.value(target, OA.hasSelector)
        assert graph.value(selector, rdflib.RDF.type) == OA.FragmentSelector
        assert str(graph.value(selector, rdflib.RDF.value)).startswith("t=")
    # A key that the context does not know would be dropped; every one of ours must be known.
    assert keys_of(data) - set(ANNOTATION_CONTEXT) == {"@context"}


def keys_of(data: object) -> set[str]:
    """Every key at any depth."""
    if isinstance(data, dict):
        return set(data).union(*(keys_of(value) for value in data.values()))
    return set().union(*(keys_of(item) for item in data)) if isinstance(data, list) else set()


def test_annotations_without_a_video_at_hand_name_the_file(
    record: Record, handover_of: HandoverOf
) -> None:
    items = annotations(handover_of(record, media=None))["first"]["items"]
    assert items[0]["target"]["source"] == "walk%20%231%20%27round.mp4"


def test_identifiers_stay_the_same(record: Record, handover_of: HandoverOf) -> None:
    assert annotations(handover_of(record)) == annotations(handover_of(record))


def test_json_may_stand_in_a_script_element(record: Record, handover_of: HandoverOf) -> None:
    for data in (listing_data(handover_of(record)), annotations(handover_of(record))):
        text = json_text(data)
        assert not set(text) & set("<>&\u2028\u2029\x1b\u202e")
        assert json.loads(text) == data


@pytest.mark.published
@pytest.mark.parametrize(
    ("seconds", "text"),
    # ISO 8601 durations; no unit is skipped inside the time part (RFC 3339, appendix A).
    [
        (50, "PT50S"),
        (253, "PT4M13S"),
        (600, "PT10M"),
        (3605, "PT1H0M5S"),
        (7200, "PT2H"),
        (0, "PT0S"),
    ],
)
def test_durations(seconds: float, text: str) -> None:
    assert iso_duration(seconds) == text
