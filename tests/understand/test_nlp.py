from pipeline.understand.nlp import COMPONENTS, missing_requirements


def test_components_are_in_an_order_that_gives_each_what_it_needs() -> None:
    assert missing_requirements() == []


def test_a_wrong_order_is_told() -> None:
    assert missing_requirements(tuple(reversed(COMPONENTS)))
