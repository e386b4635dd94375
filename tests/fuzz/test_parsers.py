"""Whatever a parser is fed, it reads it or says what is wrong with it: nothing else ever comes out."""

import os
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockyard.services.count_stock import _read_number
from tests.fuzz.parsers import PARSERS, crash, spoiled

TRIES = int(os.environ.get("STOCKYARD_TRIES", "100"))
"""How many documents each parser is fed."""


@pytest.mark.parametrize("name", PARSERS)
def test_what_the_seeds_hold_is_read(name: str) -> None:
    parser = PARSERS[name]
    assert parser.seeds
    for seed in parser.seeds:
        parser.feed(seed)


@pytest.mark.parametrize("name", PARSERS)
@settings(max_examples=TRIES, deadline=None, database=None)
@given(seed=st.integers(0, 2**48))
def test_a_spoiled_document_is_read_or_refused(name: str, seed: int) -> None:
    content = spoiled(PARSERS[name], random.Random(seed))
    assert (crash(PARSERS[name], content), content) == (None, content)


@pytest.mark.parametrize("name", [name for name, each in PARSERS.items() if max(map(len, each.seeds)) < 20])
@settings(max_examples=TRIES, deadline=None, database=None)
@given(text=st.text(max_size=60))
def test_any_short_text_is_read_or_refused(name: str, text: str) -> None:
    assert (crash(PARSERS[name], text.encode("utf-8", "surrogatepass")), text) == (None, text)


@settings(max_examples=TRIES, deadline=None, database=None)
@given(text=st.text(max_size=200))
def test_whatever_a_scanned_code_holds_is_taken_for_a_number_or_for_nothing(text: str) -> None:
    read = _read_number(text)
    assert "/" not in read
    assert read == read.strip()
