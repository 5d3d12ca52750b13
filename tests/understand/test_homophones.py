"""Words written for others of the same sound, and what is left as it is."""

import pytest

from pipeline.understand.homophones import meant


def reread(text: str) -> str:
    tokens = text.split()
    return " ".join(
        " ".join(other or (token,)) for token, other in zip(tokens, meant(tokens), strict=True)
    )


@pytest.mark.parametrize(
    ("heard", "said"),
    [
        (
            "the seat has a tear , no weight , it's dirt",
            "the seat has a tear , no wait , it's dirt",
        ),
        ("gouged , for gouges , deep", "gouged , four gouges , deep"),
        ("along the seam , for inches", "along the seam , four inches"),
        ("there's a dent in it two , half an inch", "there's a dent in it too , half an inch"),
        ("the left grip is showing somewhere , and", "the left grip is showing some wear , and"),
        ("a lip on , so that's where .", "a lip on , so that's wear ."),
        ("clean , safe for the scratches", "clean , save for the scratches"),
        ("the size of a tenpins piece", "the size of a ten pence piece"),
        ("on the left adent", "on the left a dent"),
        ("the floor matt has mildew", "the floor mat has mildew"),
    ],
)
def test_what_is_meant(heard: str, said: str) -> None:
    assert reread(heard) == said


@pytest.mark.parametrize(
    "text",
    [
        "it holds the weight , and",
        "matt says so",
        "three inches , no , call it two .",
        "a hole , in the seat",
        "call it for sale",
        "there are chips , two , in the hood",
        "there's rust somewhere on the frame",
        "that's where it rubbed",
        "it's safe for now",
    ],
)
def test_what_means_itself(text: str) -> None:
    assert reread(text) == text
