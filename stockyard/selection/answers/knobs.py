"""What of a job can be given way on, in steps from a little to all the way, and the least step that serves.

A knob is one setting of the job or of one panel. Its steps only ever loosen: what is lawful at one step is
lawful at the next, so the least that serves is found by halving.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate
from math import ceil
from typing import Any

from stockyard.selection.instance import Flaw, Instance, as_whole, oversize
from stockyard.timber import Board, DefectKind, Do, Job, Panel, Rule, Stock, Unread

QUARTER = 4  # of a panel's or a stave's size is the least that is still asked; less would be another panel

Apply = Callable[[Job, Any], Job]


@dataclass(frozen=True)
class Knob:
    """One setting. setting: its place in the job's document. panel: whose, None for the whole job.

    now: as it stands. steps: values it could take, ever looser, the last one not binding at all.
    """

    setting: str
    panel: str | None
    now: Any
    steps: Sequence[Any]
    apply: Apply
    words: Callable[[Any], str]

    def loosened(self, job: Job) -> Job:
        """The job with this setting not binding at all."""
        return self.apply(job, self.steps[-1])


@dataclass(frozen=True, slots=True)
class Change:
    """One setting, or one fact of a board, otherwise. old, new: its values. detail: the end of a sentence."""

    setting: str
    panel: str | None
    old: Any
    new: Any
    detail: str

    @property
    def share(self) -> float:
        """How great it is beside what it changes: 0 to 1 for figures, 1 for anything else."""
        if not isinstance(self.old, int | float) or not isinstance(self.new, int | float):
            return 1.0
        return abs(self.new - self.old) / max(abs(self.old), abs(self.new), 1e-9)


def least_step(knob: Knob, job: Job, serves: Callable[[Job], bool]) -> tuple[Job, Change] | None:
    """The job with the least step of the knob that serves, and what changed; None where none does."""
    if not knob.steps or not serves(knob.loosened(job)):
        return None
    low, high = 0, len(knob.steps) - 1
    while low < high:
        middle = (low + high) // 2
        if serves(knob.apply(job, knob.steps[middle])):
            high = middle
        else:
            low = middle + 1
    value = knob.steps[low]
    changed = knob.apply(job, value)
    return changed, Change(knob.setting, knob.panel, knob.now, _told(value), knob.words(value))


def _told(value: Any) -> Any:
    return value.told if isinstance(value, Loosening) else value


def knobs_of(stock: Stock, job: Job, panel: Panel) -> list[Knob]:
    """Everything that could be given way on for a panel to be made from this stock."""
    boards = list(stock.boards)
    return [
        knob
        for knob in (
            *rule_knobs(as_whole(replace(stock, reserved={}), replace(job, panels=(panel,)))),
            *moisture_knobs(boards, job),
            *_species(boards, panel),
            *size_knobs(panel),
            *allowance_knobs(job),
        )
        if knob.steps
    ]


def moisture_knobs(boards: Sequence[Board], job: Job) -> list[Knob]:
    """Limits as far out as the boards' readings, and the spread within a panel."""
    rule = job.moisture
    read = sorted({board.moisture_pct for board in boards if board.moisture_pct is not None})
    wet, dry = [r for r in read if r > rule.max_pct], [r for r in reversed(read) if r < rule.min_pct]
    widest = round(read[-1] - read[0], 6) if read else 0.0
    tenths = range(int(rule.spread_pct * 10) + 1, int(widest * 10) + 2)
    unread = [Unread.ALLOW] if any(board.moisture_pct is None for board in boards) else []

    def on(**changes: Any) -> Callable[[Job, Any], Job]:
        (name,) = changes
        return lambda job, value: replace(job, moisture=replace(job.moisture, **{name: value}))

    return [
        Knob("moisture.max", None, rule.max_pct, wet, on(max_pct=0), lambda v: f"moisture max were {v:g} %"),
        Knob("moisture.min", None, rule.min_pct, dry, on(min_pct=0), lambda v: f"moisture min were {v:g} %"),
        Knob(
            "moisture.unread",
            None,
            rule.unread.value,
            unread if rule.unread is Unread.REFUSE else [],
            on(unread=0),
            lambda v: "boards without a reading were allowed",
        ),
        Knob(
            "moisture.spread",
            None,
            rule.spread_pct,
            [tenth / 10 for tenth in tenths] if len(boards) > 1 else [],
            on(spread_pct=0),
            lambda v: f"moisture spread in a panel were {v:g} %",
        ),
    ]


def _species(boards: Iterable[Board], panel: Panel) -> list[Knob]:
    def wider(job: Job, value: str) -> Job:
        return _with_panel(job, panel.id, lambda each: replace(each, species=(*each.species, value)))

    return [
        Knob(f"panels.{panel.id}.species", panel.id, list(panel.species), [name], wider, _allowing)
        for name in sorted({board.species for board in boards} - set(panel.species))
    ]


def _allowing(name: str) -> str:
    return f"{name} were allowed"


def size_knobs(panel: Panel) -> list[Knob]:
    """The panel smaller or thinner, its staves narrower, wider, more or fewer."""

    def on(name: str) -> Apply:
        return lambda job, value: _with_panel(job, panel.id, lambda each: replace(each, **{name: value}))

    def knob(name: str, key: str, now: float, steps: Sequence[Any], words: str) -> Knob:
        return Knob(f"panels.{panel.id}.{key}", panel.id, now, steps, on(name), words.format)

    length, width, thick = int(panel.length_mm), int(panel.width_mm), panel.thickness_mm
    least_width = ceil(panel.staves_min * panel.stave_width_min_mm)
    tenths = [t / 10 for t in range(int(thick * 10 - 0.5), int(thick * 10 / QUARTER), -1)]
    narrow = int(panel.stave_width_min_mm)
    most = range(panel.staves_max + 1, panel.staves_max + 5)
    return [
        knob(
            "length_mm",
            "length",
            panel.length_mm,
            _down(length, length // QUARTER),
            "the panel were {:g} mm long",
        ),
        knob(
            "width_mm",
            "width",
            panel.width_mm,
            _down(width, max(least_width, width // QUARTER)),
            "the panel were {:g} mm wide",
        ),
        knob("thickness_mm", "thickness", thick, tenths, "the panel were {:g} mm thick"),
        knob(
            "stave_width_min_mm",
            "stave_width.min",
            panel.stave_width_min_mm,
            _down(narrow, narrow // QUARTER),
            "staves of {:g} mm were allowed",
        ),
        knob(
            "stave_width_max_mm",
            "stave_width.max",
            panel.stave_width_max_mm,
            range(int(panel.stave_width_max_mm) + 1, width + 1),
            "staves of {:g} mm were allowed",
        ),
        knob("staves_max", "staves.max", panel.staves_max, most, "{:g} staves were allowed"),
        knob(
            "staves_min", "staves.min", panel.staves_min, _down(panel.staves_min), "{:g} staves were allowed"
        ),
    ]


def allowance_knobs(job: Job) -> list[Knob]:
    """What is kept clear, trimmed, docked and planed."""

    def knob(key: str, words: str) -> Knob:
        name = f"{key}_mm"
        now = getattr(job.allowances, name)
        fine = key == "face_planing"
        steps = [t / 10 for t in range(int(now * 10 - 0.5), -1, -1)] if fine else _down(int(now), 0)

        def on(job: Job, value: float) -> Job:
            return replace(job, allowances=replace(job.allowances, **{name: value}))

        return Knob(f"allowances.{key}", None, now, steps, on, lambda v: f"{words} were {v:g} mm")

    return [
        knob("glue_clear", "clear beside glue lines"),
        knob("end_clear", "clear inside ends"),
        knob("end_trim", "end trim"),
        knob("board_end_loss", "what is docked from board ends"),
        knob("face_planing", "planing off each face"),
    ]


@dataclass(frozen=True, slots=True)
class Loosening:
    """A rule, looser than it was. told: what of it is new, as the job document says it."""

    rule: Rule
    told: Any
    words: str


def rule_knobs(instance: Instance) -> list[Knob]:
    """Rules of a kind on the show face and on the back, loosened just to what the boards' flaws need."""
    flaws: dict[DefectKind, list[Flaw]] = {}
    for timber in instance.timbers:
        for flaw in timber.flaws:
            flaws.setdefault(flaw.defect.kind, []).append(flaw)
    found = []
    for kind in sorted(flaws, key=str):
        for side in ("show", "back"):
            rule = getattr(instance.job.rules, f"on_{side}")(kind)
            place = "the show face" if side == "show" else "the back"
            names = f"{str(kind).replace('_', ' ')} on {place}"
            for key, steps in _looser(rule, flaws[kind], names):
                now = {"do": rule.do.value, "max_length": rule.max_length_mm, "max_area": rule.max_area_mm2}
                found.append(
                    Knob(
                        f"rules.{side}.{kind}.{key}",
                        None,
                        now.get(key, rule.do.value),
                        steps,
                        _ruled(side, kind),
                        lambda v: v.words,
                    )
                )
    return found


def _looser(rule: Rule, flaws: Sequence[Flaw], names: str) -> Iterable[tuple[str, list[Loosening]]]:
    if rule.do is Do.ACCEPT:
        return
    if rule.do is Do.AVOID:
        steps = [Loosening(Rule(Do.ACCEPT), "accept", f"{names} were accepted")]
        if flaws[0].defect.weakening:  # the others are looks, and there is nothing to stabilise or fill
            steps.insert(0, Loosening(Rule(Do.TREAT), "treat", f"{names} were treated"))
        yield "do", steps
        return
    over = [flaw for flaw in flaws if oversize(rule, flaw)]
    lengths = sorted({flaw.length for flaw in over if (rule.max_length_mm or 1e9) < flaw.length})
    areas = sorted({flaw.area for flaw in over if (rule.max_area_mm2 or 1e18) < flaw.area})
    yield (
        "max_length",
        [
            Loosening(replace(rule, max_length_mm=n), n, f"max_length for {names} were {n} mm")
            for n in lengths
        ],
    )
    yield (
        "max_area",
        [Loosening(replace(rule, max_area_mm2=n), n, f"max_area for {names} were {n} mm2") for n in areas],
    )
    if lengths and areas:
        both = accumulate(
            ((flaw.length, flaw.area) for flaw in sorted(over, key=lambda each: (each.length, each.area))),
            lambda seen, new: (max(seen[0], new[0]), max(seen[1], new[1])),
        )
        steps = [
            Loosening(
                replace(
                    rule,
                    max_length_mm=max(length, rule.max_length_mm or 0),
                    max_area_mm2=max(area, rule.max_area_mm2 or 0),
                ),
                {"max_length": length, "max_area": area},
                f"max_length for {names} were {length} mm and max_area {area} mm2",
            )
            for length, area in dict.fromkeys(both)
        ]
        yield "max_length, max_area", steps


def _ruled(side: str, kind: DefectKind) -> Apply:
    def on(job: Job, value: Loosening) -> Job:
        rules = dict(getattr(job.rules, side)) | {kind: value.rule}
        return replace(job, rules=replace(job.rules, **{side: rules}))

    return on


def _down(now: int, least: int = 1) -> Sequence[int]:
    return range(now - 1, max(least, 0) - 1, -1)


def _with_panel(job: Job, name: str, change: Callable[[Panel], Panel]) -> Job:
    return replace(job, panels=tuple(change(each) if each.id == name else each for each in job.panels))
