import json
from typing import Any

import pytest

from stockyard.errors import BadInput, NotFound
from stockyard.records import Yard
from stockyard.services.jobs import add_job, list_jobs, set_habits, show_job
from stockyard.timber import DefectKind, Do


def a_document(**changes: Any) -> bytes:
    """A job of one shelf, as a file holds it."""
    values: dict[str, Any] = {
        "format": "stockyard.job/1",
        "id": "hall-shelf",
        "panels": [
            {
                "id": "shelf", "length": 1200, "width": 300, "thickness": 24, "species": ["spotted gum"],
                "staves": {"min": 2, "max": 3}, "stave_width": {"min": 70, "max": 160}, "show": "one",
                "priority": 1,
            }
        ],
    }  # fmt: skip
    return json.dumps(values | changes).encode()


def test_a_job_keeps_every_version_and_shows_the_newest(yard: Yard) -> None:
    assert add_job(yard.open_work, a_document()).version == 1
    assert add_job(yard.open_work, a_document()).version == 1  # the same again is the same
    assert add_job(yard.open_work, a_document(rings="same")).version == 2
    booked, job = show_job(yard.open_work, "hall-shelf")
    assert (booked.version, job.rings.value) == (2, "same")
    assert [each.name for each in list_jobs(yard.open_work)] == ["hall-shelf"]


def test_what_a_job_leaves_out_follows_the_workshops_habits(yard: Yard) -> None:
    add_job(yard.open_work, a_document())
    _, before = show_job(yard.open_work, "hall-shelf")
    habits = a_document(
        id="habits",
        allowances={"kerf": 2},
        rules={"show": {"sound_knot": {"do": "accept", "penalty": 2}}},
    )
    set_habits(yard.open_work, habits)
    _, after = show_job(yard.open_work, "hall-shelf")
    assert (before.allowances.kerf_mm, after.allowances.kerf_mm) == (3, 2)
    assert before.rules.on_show(DefectKind.SOUND_KNOT).do is Do.AVOID
    assert after.rules.on_show(DefectKind.SOUND_KNOT).do is Do.ACCEPT


def test_species_may_be_asked_for_by_any_of_their_names(yard: Yard) -> None:
    document = json.loads(a_document())
    document["panels"][0]["species"] = ["Tasmanian Blackwood", "blackwood"]
    add_job(yard.open_work, json.dumps(document).encode())
    with yard.open_work(reading=True) as work:
        name = work.species.get("blackwood").name
    _, job = show_job(yard.open_work, "hall-shelf")
    assert job.panels[0].species == (name,)


def test_a_species_nobody_knows_is_refused_with_its_place(yard: Yard) -> None:
    document = json.loads(a_document())
    document["panels"][0]["species"] = ["spoted gum"]
    with pytest.raises(BadInput) as refused:
        add_job(yard.open_work, json.dumps(document).encode())
    assert "panels[0].species" in str(refused.value)
    assert "spotted gum" in str(refused.value)
    assert list_jobs(yard.open_work) == ()


@pytest.mark.parametrize(
    "content", [b"", b"[]", b"{", b"\xff\xfe\x00", b'{"format": "stockyard.job/2"}', b"null"]
)
def test_what_is_no_job_is_refused(yard: Yard, content: bytes) -> None:
    with pytest.raises(BadInput):
        add_job(yard.open_work, content)
    assert list_jobs(yard.open_work) == ()


def test_an_unknown_job_is_named_with_near_ones(yard: Yard) -> None:
    add_job(yard.open_work, a_document())
    with pytest.raises(NotFound, match="hall-shelf"):
        show_job(yard.open_work, "hall-shelv")
