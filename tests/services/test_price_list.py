import pytest

from stockyard.errors import BadInput
from stockyard.services.price_list import read_price_list
from stockyard.timber import DefectKind

HEAD = "supplier,species,length,width,thickness,price,available,flaws\n"


def test_a_row_is_an_offer_with_its_flaws_as_they_are_worded() -> None:
    text = (
        HEAD
        + "Riverbend Mill,spotted gum,2400,180,32,66.00,12,crack 0.6 180x4; sound knot 0.4 30x25 one face\n"
    )
    (offer,) = read_price_list(text.encode())
    assert (offer.line, offer.supplier, offer.available, str(offer.price)) == (
        2,
        "Riverbend Mill",
        12,
        "66.00",
    )
    assert [(f.kind, f.per_m2, f.length_mm, f.width_mm, f.through) for f in offer.flaws or ()] == [
        (DefectKind.CRACK, 0.6, 180, 4, True),
        (DefectKind.SOUND_KNOT, 0.4, 30, 25, False),
    ]


def test_flaws_left_out_are_not_known_and_clear_means_none() -> None:
    text = HEAD + "a,jarrah,2400,180,32,66,,\na,jarrah,2400,180,32,70,,clear\n"
    first, second = read_price_list(text.encode())
    assert first.flaws is None
    assert second.flaws == ()
    assert first.available is None


def test_every_fault_is_told_by_row_and_column() -> None:
    text = HEAD + "a,,2400,x,32,-4,1.5,crack many 10x4\na,jarrah,2400,180,32,66,,\n"
    with pytest.raises(BadInput) as caught:
        read_price_list(text.encode())
    assert [fault.where for fault in caught.value.faults] == [
        "row 2, column species",
        "row 2, column available",
        "row 2, column width",
        "row 2, column price",
        "row 2, column flaws",
    ]


@pytest.mark.parametrize(
    "content",
    [
        b"species,length\njarrah,2400\n",
        b"species,length,width,thickness,price,grade\njarrah,1,1,1,1,A\n",
        HEAD.encode(),
        b"\xff\xfe\x00",
        b"",
    ],
)
def test_what_is_no_price_list_is_refused(content: bytes) -> None:
    with pytest.raises(BadInput):
        read_price_list(content)


def test_lines_may_end_in_lone_returns_and_a_field_without_end_is_refused() -> None:
    text = HEAD + "a,jarrah,2400,180,32,66,,\n"
    assert read_price_list(text.replace("\n", "\r").encode()) == read_price_list(text.encode())
    with pytest.raises(BadInput, match="no CSV"):
        read_price_list((HEAD + "a" * 200_000).encode())
