from pathlib import Path

import pytest

from pipeline.errors import PublishError
from pipeline.publish.templating import markdown, render


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("plain text, 2.5 in - ok", "plain text, 2.5 in - ok"),
        ("[x](javascript:alert(1))", "\\[x\\](javascript:alert(1))"),
        ("*b* _i_ `c` ~s~ a|b", "\\*b\\* \\_i\\_ \\`c\\` \\~s\\~ a\\|b"),
        ("<img> &amp;", "\\<img\\> \\&amp;"),
        ("# head", "\\# head"),
        ("- item", "\\- item"),
        ("12. item", "12\\. item"),
        ("https://bad.example www.bad.example", "https\\://bad.example www\\.bad.example"),
        ("back\\slash", "back\\\\slash"),
        ("two\n\nparagraphs\x1b[1m", "two paragraphs"),
    ],
)
def test_markdown_shows_text_as_it_is(text: str, shown: str) -> None:
    assert markdown(text) == shown


@pytest.mark.parametrize(
    ("name", "template", "expected"),
    [
        ("a.html.j2", "<b>{{ x }}</b>", "<b>&lt;i&gt; #</b>"),
        (
            "a.md.j2",
            "- {{ x }} {{ x | link('https://a.example/_') }}",
            "- \\<i\\> # [\\<i\\> #](<https://a.example/_>)",
        ),
        ("a.md.j2", "{{ x | link(none) }}", "\\<i\\> #"),
        ("a.txt.j2", "{{ x }}, {{ 3 }}", "<i> #, 3"),
    ],
)
def test_a_shops_template_is_escaped_by_its_format(
    tmp_path: Path, name: str, template: str, expected: str
) -> None:
    (tmp_path / name).write_text(template)
    assert render(name, {"x": "<i>\u202e \x1b[1m#"}, tmp_path) == expected


@pytest.mark.parametrize(
    "template",
    [
        "{{ x.__class__.__mro__ }}",
        "{{ unknown }}",
        "{% if %}",
        "{% include 'nowhere.txt.j2' %}",
        "{{ y.append(1) }}",
    ],
)
def test_a_wrong_or_prying_template_is_one_clear_error(tmp_path: Path, template: str) -> None:
    (tmp_path / "a.txt.j2").write_text(template)
    with pytest.raises(PublishError, match=r"template a\.txt\.j2: "):
        render("a.txt.j2", {"x": "text", "y": []}, tmp_path)


def test_a_template_that_fails_at_work_is_one_clear_error(tmp_path: Path) -> None:
    (tmp_path / "a.txt.j2").write_text("{{ 1 / 0 }}")
    with pytest.raises(PublishError, match=r"template a\.txt\.j2: "):
        render("a.txt.j2", {}, tmp_path)
