"""Linked data: schema.org terms as rdflib lists them, the Web Annotation model's example."""

import json
from collections.abc import Callable
from typing import Any

import pytest
import rdflib

from pipeline.publish.handover import Handover
from pipeline.publish.linked_data import annotations, json_text, listing_data
from tests.publish.conftest import handover_of, nasty_record, record  # noqa: F401

Make = Callable[..., Handover]
VOCABULARY = "https://schema.org/"


@pytest.fixture
def listing(handover_of: Make) -> dict[str, Any]:  # noqa: F811
    return listing_data(handover_of(nasty_record()))


@pytest.mark.filterwarnings("ignore:ConjunctiveGraph:DeprecationWarning")
@pytest.mark.published("schema.org vocabulary as listed by rdflib; JSON-LD 1.1 read by rdflib")
def test_every_term_is_one_of_schema_org(listing: dict[str, Any]) -> None:
    graph = rdflib.Graph()
    local = {**listing, "@context": {"@vocab": VOCABULARY}}  # the context itself is on the network
    graph.parse(data=json_text(local), format="json-ld")
    used = {p for p in graph.predicates() if p != rdflib.RDF.type}
    types = set(graph.objects(predicate=rdflib.RDF.type))
    assert len(graph) > 40
    assert used
    for term in used | types:
        assert isinstance(term, rdflib.URIRef)
        assert term.removeprefix(VOCABULARY) in rdflib.SDO, term


@pytest.mark.published(
    "schema.org: knownVehicleDamages is Text, mileage a quantity in SMI (UN/CEFACT Rec. 20)"
)
def test_values_are_of_their_expected_types(listing: dict[str, Any]) -> None:
    machine, video = listing["@graph"]
    assert machine["@type"] == "Motorcycle"
    assert isinstance(machine["knownVehicleDamages"], str)
    assert machine["mileageFromOdometer"] == {
        "@type": "QuantitativeValue", "value": 12400, "unitCode": "SMI",
    }  # fmt: skip
    assert machine["vehicleIdentificationNumber"] == "1M8GDM9AXKP042788"
    assert video["@type"] == "VideoObject"
    assert video["duration"] == "PT1M"  # a minute: P1M would be a month
    for clip in video["hasPart"]:
        assert clip["@type"] == "Clip"
        assert 0 <= clip["startOffset"] < clip["endOffset"] <= 60


@pytest.mark.published(
    "Web Annotation Data Model, example 20: source, '#' and selector value joined"
)
def test_annotations_follow_the_model(handover_of: Make) -> None:  # noqa: F811
    data = annotations(handover_of(nasty_record(), media="http://example.org/video1"))
    assert data["@context"] == "http://www.w3.org/ns/anno.jsonld"
    assert data["type"] == "AnnotationCollection"
    items = data["first"]["items"]
    assert data["total"] == len(items) > 0
    assert len({item["id"] for item in items}) == len(items)
    for item in items:
        assert item["type"] == "Annotation"
        target = item["target"]
        selector = target["selector"]
        assert target["source"] == "http://example.org/video1"
        assert selector["type"] == "FragmentSelector"
        assert selector["conformsTo"] == "http://www.w3.org/TR/media-frags/"
        joined = f"{target['source']}#{selector['value']}"
        assert joined.startswith("http://example.org/video1#t=")


@pytest.mark.published("RFC 8259: what we write as JSON is read by Python's json and says the same")
def test_escaped_json_says_the_same(listing: dict[str, Any]) -> None:
    text = json_text(listing)
    assert json.loads(text) == listing
    assert not set("<>&\u2028\u2029") & set(text)
