"""Limits of one's own, what is known of the garment, and choices copied, swapped and followed, all by command."""

import json
import shutil
from dataclasses import replace

import pytest

from mockup import journey
from mockup.checks.limits import DEFAULTS
from mockup.checks.scene import frame_of
from mockup.files import project_file
from mockup.journey.checking import NO_CLOTH
from mockup.journey.choices import followers
from mockup.samples import choir
from swatches.errors import InputError
from swatches.fabric import Known, Origin


@pytest.fixture(scope="module")
def made(tmp_path_factory, put_tunic):
    folder = tmp_path_factory.mktemp("made") / "tunic"
    project = put_tunic(folder)
    for line in choir.LINES:
        project = project.put_line(line)
    project_file.save(project, folder)
    return folder


@pytest.fixture
def project(made, tmp_path):
    return shutil.copytree(made, tmp_path / "tunic")


def worn(project, letter="A"):
    return project_file.load(project).colourway(letter).fabrics


def test_limits_are_shown_with_their_source_and_set_in_the_project(mockup, project):
    rows = {r["name"]: r for r in mockup("limits", project, "--json").json["limits"]}
    assert set(rows) == set(DEFAULTS)
    assert all(r["source"] for r in rows.values())
    ran = mockup("limits", project, "--set", "sliver=50", "--set", "weight-ratio=2", "--json")
    rows = {r["name"]: r for r in ran.json["limits"]}
    assert (rows["sliver"]["value"], rows["sliver"]["source"]) == (50, "yours")
    assert project_file.load(project).limits == {"sliver": 50, "weight-ratio": 2}
    mockup("assign", project, "front-1=#203040", "front-2=#f0f0e0")
    mockup("limits", project, "--set", "bleed-lightness=99", "--set", "bleed-chroma=999", "--json")
    found = mockup("check", project, "--json").json["findings"]
    assert "bleed" not in {f["code"] for f in found}
    put_back = mockup("limits", project, "--reset", "all", "--json").json["limits"]
    assert {r["source"] for r in put_back} == {limit.source for limit in DEFAULTS.values()}
    found = mockup("check", project, "--json").json["findings"]
    assert "bleed" in {f["code"] for f in found}
    for f in found:
        assert all(f[key] for key in ("code", "grade", "place", "figure", "limit", "source", "advice")), f


@pytest.mark.parametrize(
    "wrong",
    [
        ["limits", "--set", "sliver=0"], ["limits", "--set", "sliver=nan"], ["limits", "--set", "slivver=3"],
        ["limits", "--set", "sliver"], ["limits", "--reset", "slivver"], ["facts", "--closure", "zip:hem:0-20"],
        ["facts", "--closure", "zip:centre-back:200-20mm"], ["facts", "--closure", "zip"],
        ["facts", "--closure", "lace:centre-back:0-20mm"], ["facts", "--needed-stretch", "-1"],
        ["facts", "--ease", "sleeve=1mm"], ["facts", "--ease", "sleeve:cap=9m"], ["assign"],
        ["assign", "--swap", "front-1"], ["assign", "--copy", "Q", "--choice", "B"], ["assign", "--leave", "nix"],
    ],
    ids=" ".join,
)  # fmt: skip
def test_what_cannot_be_is_one_line(refused, project, wrong):
    refused(wrong[0], project, *wrong[1:])


def test_facts_of_the_garment_reach_the_checks_and_lines_are_judged_without_cloth(mockup, refused, project):
    said = mockup("facts", project, "--json").json
    assert (said["closures"], said["needed_stretch_percent"]) == (None, None)
    bare = mockup("check", project, "--json").json
    assert (bare["choice"], bare["notes"]) == (None, [NO_CLOTH])
    grades = {f["code"]: f["grade"] for f in bare["findings"]}
    assert grades["closure"] == "cannot tell"
    assert not {"nap", "care", "caution", "enough-cloth"} & set(grades), "nothing is said of cloth"
    assert "a choice of cloth" in refused("check", project, "--lay")
    assert "B" in refused("check", project, "--choice", "B")
    mockup("assign", project, "front-1=#203040")
    said = mockup(
        "facts", project, "--closure", "zip:centre-front:0-30cm", "--needed-stretch", "20", "--ease",
        "sleeve:cap=12mm", "--json",
    ).json  # fmt: skip
    assert said["closures"] == [{"kind": "zip", "edge": "centre-front", "start_mm": 0, "end_mm": 300}]
    assert said["ease_mm"] == {"sleeve:cap": 12}
    answer = mockup("check", project, "--json").json
    assert (answer["choice"], answer["notes"]) == ("A", [])
    assert "caution" in {f["code"] for f in answer["findings"]}
    found = [f for f in answer["findings"] if f["code"] == "closure"]
    assert [f["figure"] for f in found] == ["104 mm down, on both sides of the zip"]  # the yoke
    assert mockup("facts", project, "--closure", "none", "--json").json["closures"] == []


def test_twins_and_front_and_back_follow(mockup, project):
    loaded = project_file.load(project)
    assert followers(loaded, "sleeve-1L", "none") == ("sleeve-1L",)
    assert followers(loaded, "sleeve-1L", "sides") == ("sleeve-1L", "sleeve-1R")
    assert followers(loaded, "front-1", "sides") == ("front-1",)
    assert set(followers(loaded, "front-1", "all")) == {"front-1", "back-1"}
    with pytest.raises(InputError, match="follow"):
        followers(loaded, "front-1", "everything")
    ran = mockup("assign", project, "front-1=#c79a3b", "sleeve-1L=#203040", "--follow", "all", "--json")
    assert set(ran.json["fabrics"]) == {"front-1", "back-1", "sleeve-1L", "sleeve-1R"}
    mockup("assign", project, "--leave", "sleeve-1R", "--follow", "sides")
    assert set(worn(project)) == {"front-1", "back-1"}


def test_choices_are_copied_and_panels_swap_their_cloth(mockup, project):
    mockup("assign", project, "front-1=#c79a3b", "front-2=#203040")
    before = worn(project)
    ran = mockup("assign", project, "--copy", "A", "--choice", "B", "--name", "Turned", "--swap", "front-1,front-2",
                 "--json")  # fmt: skip
    assert (ran.json["choice"], ran.json["name"]) == ("B", "Turned")
    assert worn(project, "B") == {"front-1": before["front-2"], "front-2": before["front-1"]}
    assert worn(project) == before  # the one it was copied from stays as it is
    mockup("assign", project, "--choice", "B", "--swap", "front-2,front-3")  # with a panel that is left as it is
    assert worn(project, "B") == {"front-1": before["front-2"], "front-3": before["front-1"]}
    mockup("assign", project, "--choice", "B", "--swap", "front-2,front-3")
    assert worn(project, "B") == {"front-1": before["front-2"], "front-2": before["front-1"]}


def test_a_hand_edited_limit_that_is_none_is_one_line(refused, project):
    file = project / "project.json"
    raw = json.loads(file.read_text())
    raw["limits"] = {"sliver": -3}
    raw["colourways"] = [{"letter": "A", "fabrics": {}}]
    file.write_text(json.dumps(raw))
    assert "sliver" in refused("check", project)


@pytest.mark.slow
def test_with_a_lay_the_check_says_whether_the_cloth_is_enough(mockup, project):
    loaded, _ = journey.put_pieces(project, project_file.load(project), choir.PIECES)
    fabric = journey.plain_fabric("#203040", "spruce")
    known = {"usable_width": Known(1400.0, "mm", Origin.MEASURED), "length_left": Known(900.0, "mm", Origin.MEASURED)}
    loaded, spruce = journey.put_fabric(project, loaded, replace(fabric, **known))
    loaded = journey.assign(loaded, "A", dict.fromkeys(frame_of(loaded).panels, spruce.id))
    project_file.save(loaded, project)
    by_area = [f for f in mockup("check", project, "--json").json["findings"] if f["code"] == "enough-cloth"]
    by_lay = [f for f in mockup("check", project, "--lay", "--json").json["findings"] if f["code"] == "enough-cloth"]
    assert "take" in by_area[0]["figure"]
    assert (by_lay[0]["grade"], by_lay[0]["source"]) == ("warn", "the lay that was found; a tighter one may exist")
    assert not any(f["code"] == "walk" for f in mockup("check", project, "--json").json["findings"])  # all seams match
