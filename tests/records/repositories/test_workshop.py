from datetime import date

from stockyard.ledger import OffcutPolicy
from stockyard.records import Yard
from tests.conftest import NOON


def test_a_new_yard_starts_with_habits_of_its_own(sqlite_yard: Yard) -> None:
    """The defaults are: Australian dollars, offcuts valued by volume, numbers like SG-0017."""
    with sqlite_yard.open_work() as work:
        assert work.workshop.currency == "AUD"
        assert OffcutPolicy(work.workshop.offcut_policy_on(NOON.date())) is OffcutPolicy.VOLUME
        assert work.workshop.get("numbers") == {"separator": "-", "digits": 4}
        assert work.workshop.get("unheard of", "nothing") == "nothing"


def test_the_newest_entry_stands_and_the_older_can_be_read(yard: Yard) -> None:
    with yard.open_work(who="Ada") as work:
        work.workshop.set("offcut_policy", "by_product")
        work.workshop.set("offcut_policy", "relative_value", effective=date(2026, 7, 1))
        work.workshop.set("currency", "NZD")

        assert work.workshop.all()["currency"] == "NZD"
        first, second = work.workshop.history("offcut_policy")

    assert (first.value, first.effective, first.at, first.who) == ("by_product", NOON.date(), NOON, "Ada")
    assert second.effective == date(2026, 7, 1)


def test_an_entry_counts_from_its_day_whenever_it_was_written(yard: Yard) -> None:
    july, june = date(2026, 7, 1), date(2026, 6, 1)
    with yard.open_work() as work:
        work.workshop.set("offcut_policy", "relative_value", effective=july)
        work.workshop.set("offcut_policy", "volume", effective=june)
        work.workshop.set("offcut_policy", "by_product", effective=june)

        told = [
            work.workshop.offcut_policy_on(day) for day in (date(2026, 5, 31), june, date(2026, 6, 30), july)
        ]

    assert told == ["volume", "by_product", "by_product", "relative_value"]


def test_anything_json_can_say_is_kept(yard: Yard) -> None:
    said = {"list": [1, 2.5, None, True], "word": "größer"}
    with yard.open_work() as work:
        work.workshop.set("habits", said)
        work.workshop.set("nothing", None)

        assert work.workshop.get("habits") == said
        assert work.workshop.get("nothing", "otherwise") is None
