"""The rules of the plugin, by the public kit alone."""

from pathlib import Path

import drawmark_competition_limits
import pytest

from drawmark.rules import testing

PLUGIN = testing.plugin(drawmark_competition_limits, "competition-limits")
TABLE = Path(drawmark_competition_limits.__file__).with_name("limits.toml")


@pytest.mark.parametrize(
    ("words", "rules"),
    [
        # World Archery, Book 3, 11.1.3 (read): at most 4 cm behind the pivot point, recurve.
        pytest.param({"bow": {"rest_position": "-40 mm"}}, [], id="4 cm behind"),
        pytest.param(
            {"bow": {"rest_position": "-40.1 mm"}}, ["rest-position"], id="further behind"
        ),
        pytest.param(
            {"bow": {"kind": "longbow", "rest_position": "-41 mm"}}, [], id="not in recurve"
        ),
        # 9.3 mm (read in an interpretation by Archery Canada).
        pytest.param({"arrow": {"shaft": {"outside_diameter": "9.3 mm"}}}, [], id="9.3 mm"),
        pytest.param(
            {"arrow": {"shaft": {"outside_diameter": "9.31 mm"}}}, ["shaft-diameter"], id="thicker"
        ),
        # No draw check indicator in barebow (at second hand).
        pytest.param(
            {"bow": {"kind": "barebow"}, "archer": {"draw_control": "clicker"}},
            ["draw-control"],
            id="a clicker in barebow",
        ),
        pytest.param({"archer": {"draw_control": "clicker"}}, [], id="a clicker in recurve"),
        # 60 lbf of peak draw weight (from memory).
        pytest.param(
            {
                "bow": {
                    "kind": "compound",
                    "draw_weight": "60 lbf",
                    "draw_weight_basis": "own_draw",
                }
            },
            [],
            id="60 lbf",
        ),
        pytest.param(
            {
                "bow": {
                    "kind": "compound",
                    "draw_weight": "60.1 lbf",
                    "draw_weight_basis": "own_draw",
                }
            },
            ["draw-weight"],
            id="stronger",
        ),
    ],
)
def test_limits_by_article(words, rules):
    outcome = testing.judge(PLUGIN, **words)
    assert [placed.rule for placed in outcome.findings] == rules
    assert outcome.verdict == ("caution" if rules else "pass")


def test_findings_name_the_article_and_how_well_it_is_known():
    thick = {"arrow": {"shaft": {"outside_diameter": "10 mm"}}}
    (found,) = testing.judge(PLUGIN, **thick).findings
    assert found.said.message == (
        "World Archery, Book 3, chapter 11, and Book 4, chapter 22: "
        "a shaft is at most 9.3 mm thick."
    )
    strong = {"kind": "compound", "draw_weight": "70 lbf", "draw_weight_basis": "own_draw"}
    (found,) = testing.judge(PLUGIN, bow=strong).findings
    assert found.said.message.endswith(" From memory: look it up.")


@pytest.mark.parametrize("severity", ["note", "caution", "stop"])
def test_severity_is_a_setting(severity):
    thick = {"arrow": {"shaft": {"outside_diameter": "10 mm"}}}
    outcome = testing.judge(PLUGIN, settings={"severity": severity}, **thick)
    assert outcome.verdict == {"note": "pass"}.get(severity, severity)


def table(tmp_path, text):
    path = tmp_path / "limits.toml"
    path.write_text(text)
    return {"table": str(path)}


def test_a_federation_replaces_the_table(tmp_path):
    settings = table(
        tmp_path,
        "body = 'Hill Country Archers'\n[[limit]]\narticle = '7.2'\nmark = 'read'\n"
        "fact = 'outside_diameter'\nat_most = 8\nunit = 'mm'\nmessage = 'Shafts are thin here.'\n",
    )
    outcome = testing.judge(
        PLUGIN,
        settings=settings,
        archer={"draw_control": "clicker"},
        bow={"kind": "barebow"},
        arrow={"shaft": {"outside_diameter": "8.5 mm"}},
    )
    assert [placed.said.message for placed in outcome.findings] == [
        "Hill Country Archers, 7.2: shafts are thin here."
    ]
    # Rules without a row are not even listed.
    assert outcome.not_checked == ()


ROW = "article = '1'\nmark = 'read'\nfact = 'draw_weight'\nmessage = 'm'\n"


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("body = ", "is not TOML"),
        ("body = 'b'", "1 to 40 tables `limit`"),
        ("[[limit]]\narticle = '1'", "needs a text `body`"),
        ("body = 'b'\nlimit = [1]", "limit 1: is not a table"),
        (f"body = 'b'\n[[limit]]\n{ROW}at_mst = 1", "limit 1: unknown: at_mst"),
        (f"body = 'b'\n[[limit]]\n{ROW}unit = 'lbf'", "`at_least` or `at_most` is missing"),
        (f"body = 'b'\n[[limit]]\n{ROW}unit = 'mm'\nat_most = 1", "`unit` is not one of N, lbf"),
        (f"body = 'b'\n[[limit]]\n{ROW}unit = 'N'\nat_most = nan", "`at_most` is no such number"),
        (f"body = 'b'\n[[limit]]\n{ROW}unit = 'N'\nat_most = true", "`at_most` is no such number"),
        (
            f"body = 'b'\n[[limit]]\n{ROW}bows = ['gun']\nunit = 'N'\nat_most = 1",
            "`bows` has other words",
        ),
        (f"body = 'b'\n[[limit]]\n{ROW.replace('draw_weight', 'x')}", "`fact` is not one of"),
        (f"body = 'b'\n[[limit]]\n{ROW.replace('read', 'sure')}", "`mark` is not one of"),
        (f"body = 'b'\n[[limit]]\n{ROW.replace('draw_weight', 'draw_control')}", "`refused` is"),
    ],
)
def test_a_wrong_table_is_refused_at_the_start(tmp_path, text, fault):
    with pytest.raises(ValueError, match=r"limits\.toml") as caught:
        testing.judge(PLUGIN, settings=table(tmp_path, text))
    assert fault in str(caught.value)
    assert len(str(caught.value).splitlines()) == 1


def test_a_table_that_is_not_there_is_refused_at_the_start(tmp_path):
    with pytest.raises(ValueError, match="cannot be read: No such file"):
        testing.judge(PLUGIN, settings={"table": str(tmp_path / "none.toml")})


def test_every_row_is_marked_and_can_be_replaced_by_a_copy(tmp_path):
    copied = table(tmp_path, TABLE.read_text())
    thick = {"arrow": {"shaft": {"outside_diameter": "10 mm"}}}
    assert testing.judge(PLUGIN, settings=copied, **thick) == testing.judge(PLUGIN, **thick)


def test_conformance():
    spoke = testing.conform(PLUGIN, settings={})
    assert all(spoke.values()), spoke
