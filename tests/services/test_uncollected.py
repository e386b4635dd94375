import gc

import pytest

from stockyard.services.uncollected import uncollected


def test_the_search_for_cycles_goes_on_afterwards_whatever_happens() -> None:
    with uncollected():
        assert not gc.isenabled()
    assert gc.isenabled()
    with pytest.raises(ZeroDivisionError), uncollected():
        raise ZeroDivisionError
    assert gc.isenabled()


def test_one_within_another_leaves_it_to_the_outer_one() -> None:
    with uncollected():
        with uncollected():
            pass
        assert not gc.isenabled()
    assert gc.isenabled()
