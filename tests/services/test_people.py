from datetime import timedelta
from functools import partial

import pytest

from stockyard.errors import BadInput, NotFound, NotLetIn, Refused
from stockyard.records import Yard
from stockyard.services.people import (
    add_person,
    asks_to_sign_in,
    change_person,
    list_people,
    sign_in,
    sign_out,
    whose_sign_in,
)
from stockyard.timber.person import Role
from tests.conftest import NOON

PASSWORD = "horse and cart"


def test_a_yard_asks_nobody_to_sign_in_until_it_knows_people(yard: Yard) -> None:
    assert not asks_to_sign_in(yard.open_work)
    add_person(yard.open_work, "Robin", Role.MAKER, PASSWORD)
    assert asks_to_sign_in(yard.open_work)


def test_a_sign_in_is_known_by_its_token_and_no_token_is_kept(yard: Yard) -> None:
    add_person(yard.open_work, "  Robin   Example ", Role.MAKER, PASSWORD)
    token = sign_in(yard.open_work, "robin example", PASSWORD, "10.0.0.7")
    person = whose_sign_in(yard.open_work, token)
    assert person is not None
    assert (person.name, person.role) == ("Robin Example", Role.MAKER)
    assert whose_sign_in(yard.open_work, token + "x") is None
    with yard.engine.connect() as connection:
        kept = connection.exec_driver_sql("SELECT token, password FROM sign_in, person").one()
    assert token not in kept
    assert PASSWORD not in kept[1]
    sign_out(yard.open_work, token)
    assert whose_sign_in(yard.open_work, token) is None


def test_a_sign_in_lasts_while_it_is_used_and_ends_when_it_is_not(yard: Yard) -> None:
    add_person(yard.open_work, "Robin", Role.MAKER, PASSWORD)
    token = sign_in(yard.open_work, "Robin", PASSWORD, "10.0.0.7")

    def after(hours: float) -> object:
        return whose_sign_in(partial(yard.open_work, now=NOON + timedelta(hours=hours)), token)

    assert after(8)
    assert after(16)
    assert after(29) is None


def test_a_wrong_password_and_a_name_that_is_not_there_are_told_alike(yard: Yard) -> None:
    add_person(yard.open_work, "Robin", Role.MAKER, PASSWORD)
    told = set()
    for name, password in (("Robin", "something else"), ("Nobody", PASSWORD), ("", "")):
        with pytest.raises(NotLetIn) as refused:
            sign_in(yard.open_work, name, password, "10.0.0.7")
        told.add((refused.value.message, refused.value.wait_minutes))
    assert len(told) == 1


def test_tries_are_counted_by_name_and_by_place_and_forgotten_after_a_while(yard: Yard) -> None:
    add_person(yard.open_work, "Robin", Role.MAKER, PASSWORD)
    for n in range(5):
        with pytest.raises(NotLetIn):
            sign_in(yard.open_work, "Robin", "wrong", f"10.0.0.{n}")
    with pytest.raises(NotLetIn) as refused:
        sign_in(yard.open_work, "Robin", PASSWORD, "10.0.0.99")
    assert refused.value.wait_minutes == 15
    later = partial(yard.open_work, now=NOON + timedelta(minutes=16))
    assert sign_in(later, "Robin", PASSWORD, "10.0.0.99")


def test_who_has_left_or_been_changed_is_signed_out(yard: Yard) -> None:
    add_person(yard.open_work, "Robin", Role.MAKER, PASSWORD)
    add_person(yard.open_work, "Kim", Role.READER, PASSWORD)
    token = sign_in(yard.open_work, "Kim", PASSWORD, "10.0.0.7")
    change_person(yard.open_work, "kim", role=Role.MAKER)
    assert whose_sign_in(yard.open_work, token) is None
    change_person(yard.open_work, "Kim", has_left=True)
    with pytest.raises(NotLetIn):
        sign_in(yard.open_work, "Kim", PASSWORD, "10.0.0.7")
    assert [(each.name, each.has_left) for each in list_people(yard.open_work)] == [
        ("Kim", True),
        ("Robin", False),
    ]


def test_one_maker_always_stays(yard: Yard) -> None:
    add_person(yard.open_work, "Robin", Role.MAKER, PASSWORD)
    for change in ({"role": Role.READER}, {"has_left": True}):
        with pytest.raises(BadInput, match="one maker must stay"):
            change_person(yard.open_work, "Robin", **change)  # type: ignore[arg-type]
    assert list_people(yard.open_work)[0].role is Role.MAKER


def test_what_cannot_be_a_person_is_refused(yard: Yard) -> None:
    with pytest.raises(BadInput) as refused:
        add_person(yard.open_work, " ", Role.MAKER, "short")
    assert [fault.where for fault in refused.value.faults] == ["password", "name"]
    add_person(yard.open_work, "Robin", Role.MAKER, PASSWORD)
    with pytest.raises(Refused, match="already"):
        add_person(yard.open_work, "ROBIN", Role.READER, PASSWORD)
    with pytest.raises(NotFound, match="Robin"):
        change_person(yard.open_work, "Robbin", role=Role.READER)
