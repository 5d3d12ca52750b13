"""pipeline/score/truth.py: what a truth file may say, and what is refused."""

from pathlib import Path

import pytest

from pipeline.errors import TruthError
from pipeline.score.truth import TrueFinding, read_truth

HEAD = 'id = "x"\nkind = "motorcycle"\nsplit = "fit"\n'


@pytest.mark.parametrize(
    ("defect", "given", "severity"),
    [
        ("scratch", {}, 3),
        ("scratch", {"severity": 5}, 5),
        ("scratch", {"severity": "none"}, None),
        ("repaint", {}, None),
        ("repaint", {"severity": 2}, 2),
    ],
)
def test_a_grade_left_out_is_the_rule_s(
    defect: str, given: dict[str, object], severity: int | None
) -> None:
    flaw = TrueFinding.model_validate({"part": "hood", "defect": defect, "phrase": "", **given})
    assert flaw.severity == severity


@pytest.mark.parametrize(
    ("content", "message"),
    [
        ("id = ", "cannot be read as a truth file"),
        (HEAD, "say: Field required"),
        (HEAD + "speed = 1\nsay = []", "speed: Extra inputs"),
        (
            HEAD + '[[say]]\ntext = "A dent."\n'
            'findings = [{part = "hood", defect = "dent", phrase = "dents"}]',
            "does not stand in",
        ),
        (
            HEAD + '[[say]]\ntext = "A dent."\n'
            'findings = [{part = "hood", defect = "dent", phrase = "dent", mention_of = "k"}]',
            "refers to 'k', unknown",
        ),
    ],
)
def test_a_wrong_file_is_refused_by_name(tmp_path: Path, content: str, message: str) -> None:
    path = tmp_path / "wrong.toml"
    path.write_text(content, "utf-8")
    with pytest.raises(TruthError, match=r"wrong\.toml") as refused:
        read_truth(path)
    assert message in str(refused.value)


def test_toml_and_json_say_the_same(tmp_path: Path) -> None:
    written = tmp_path / "t.toml"
    written.write_text(
        HEAD + '[[say]]\ntext = "The tank was repainted."\n'
        'findings = [{part = "fuel_tank", defect = "repaint", phrase = "tank was repainted"}]',
        "utf-8",
    )
    truth = read_truth(written)
    rendered = tmp_path / "t.json"
    rendered.write_text(truth.model_dump_json(exclude_none=True), "utf-8")
    assert read_truth(rendered) == truth
    assert truth.text == "The tank was repainted."
