"""The best selection by trying everything, on boards so small that everything can be tried.

No solver, no relaxation, and nothing shared with the package but the nouns and the colour difference.
Footprints are taken from shapely.

What is tried:

1. For each board, each set of staves that might be cut from it: every order of the staves, every way of
   grouping them into sections, every whole-millimetre place of each in x and in y, both ways round. What a
   section costs depends on its own staves only, so the least cost of each section from a to b is kept.
2. For each panel, every number of staves, every board, face and width for each place.
3. For all panels together, every combination of 2, each board's staves priced by 1. Left out is only what
   cannot be cheapest: where the value and handling of its boards, less what all their uncut area could be
   credited with, already come to more than the best found.
"""

from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations, pairwise, permutations, product
from math import ceil, floor, inf

import numpy as np
import shapely
from numba import njit

from stockyard.measures.colour import colour_difference
from stockyard.timber import WEAKENING, Do, Face, Rings, Show, Unread


@dataclass(frozen=True)
class Best:
    """made: how many panels of each priority, highest first. cost: the least; None if nothing is made."""

    made: tuple[int, ...]
    cost: float | None


def best_selection(job, stock):
    """The best selection of a tiny instance."""
    free = [board for board in stock.boards if board.id not in stock.reserved]
    bench = {board.id: Bench(board, job) for board in free}
    ways = {panel.id: _ways(panel, job, bench) for panel in job.panels}
    priorities = sorted({panel.priority for panel in job.panels})
    subsets = {}
    for count in range(1, len(job.panels) + 1):
        for chosen in combinations(job.panels, count):
            made = tuple(sum(panel.priority == priority for panel in chosen) for priority in priorities)
            subsets.setdefault(made, []).append(chosen)
    for made in sorted(subsets, reverse=True):
        cost = min(_cheapest([ways[panel.id] for panel in chosen], bench) for chosen in subsets[made])
        if cost < inf:
            return Best(made, cost)
    return Best(tuple(0 for _ in priorities), None)


# A stave as it matters to its board: the panel's place in the job, how many of its edges are outer ones, the
# face shown, the finished width.
Key = tuple[int, int, Face, int]


def _ways(panel, job, bench):
    """Every content of the panel: ({board: keys}, least cost of its joints)."""
    number = job.panels.index(panel)
    width, low, high = up(panel.width_mm), up(panel.stave_width_min_mm), down(panel.stave_width_max_mm)
    sources = [
        (board_id, face)
        for board_id, on in bench.items()
        if on.board.species in panel.species and dry_enough(on.board, job)
        for face in (Face.A, Face.B)
    ]
    found = {}
    for count in range(panel.staves_min, panel.staves_max + 1):
        splits = list(compositions(width, count, low, high))
        for row in product(sources, repeat=count) if splits else ():
            boards = [bench[board_id].board for board_id, _ in row]
            if len({board.species for board in boards}) > 1 or not evenly_dry(boards, job):
                continue
            joints = sum(
                joint_cost(bench[one].board, face, bench[other].board, other_face, job)
                for (one, face), (other, other_face) in pairwise(row)
            )
            for widths in splits:
                content = {}
                for place, ((board_id, face), stave_width) in enumerate(zip(row, widths, strict=True)):
                    outer = (place == 0) + (place == count - 1)
                    content.setdefault(board_id, []).append((number, outer, face, stave_width))
                content = tuple(sorted((b, tuple(sorted(keys))) for b, keys in content.items()))
                if joints < found.get(content, inf):
                    found[content] = joints
    return [
        (dict(content), joints)
        for content, joints in found.items()
        # A stave that fits nowhere alone fits nowhere among others.
        if all(bench[b].cost((key,)) < inf for b, keys in content for key in keys)
    ]


def _cheapest(ways, bench):
    """The least cost of one content of each panel, together."""
    best = inf

    def choose(panel, taken, joints):
        nonlocal best
        if panel == len(ways):
            cost = joints
            for board_id, keys in taken.items():
                cost += bench[board_id].cost(tuple(sorted(keys)))
            best = min(best, cost)
            return
        coming = []
        for content, owed in ways[panel]:
            merged = dict(taken)
            for board_id, keys in content.items():
                merged[board_id] = merged.get(board_id, ()) + keys
            least = joints + owed + sum(bench[b].at_least(keys) for b, keys in merged.items())
            coming.append((least, merged, owed))
        for least, merged, owed in sorted(coming, key=lambda way: way[0]):
            if least >= best:
                return
            choose(panel + 1, merged, joints + owed)

    choose(0, {}, 0.0)
    return best


class Bench:
    """One board, and the least cost of cutting any given set of staves from it."""

    def __init__(self, board, job):
        self.board, self.job = board, job
        self.length, self.width = down(board.length_mm), down(board.width_mm)
        allowances = job.allowances
        self.kerf = up(allowances.kerf_mm)
        self.least = up(allowances.offcut_length_mm), up(allowances.offcut_width_mm)
        self.per_mm2 = float(job.costs.recovery) * float(board.value) / (self.length * self.width)
        self.covered = np.zeros((self.length + 1, self.width + 1), dtype=np.int64)
        marks = np.zeros((self.length, self.width), dtype=np.int64)
        for defect in board.defects:
            boxes = footprint(defect)
            if verdict(job.rules.show.get(defect.kind), boxes)[0] is Do.AVOID:
                for x0, y0, x1, y1 in boxes:
                    marks[x0:x1, y0:y1] = 1
        self.covered[1:, 1:] = marks.cumsum(axis=0).cumsum(axis=1)
        self._costs, self._sections, self._staves = {}, {}, {}

    def at_least(self, keys):
        """No cutting of these staves costs less: all that is not stave cannot be worth more than itself."""
        used = sum(min(length * width for _, length, width in self.staves(key)) for key in keys)
        credit = self.per_mm2 * (self.length * self.width - used)
        return float(self.board.value) + float(self.job.costs.handling) - credit

    def cost(self, keys):
        """The least cost of cutting just these staves; inf when they cannot be. keys: sorted."""
        if keys not in self._costs:
            self._costs[keys] = min((self._docked(sections) for sections in groupings(keys)), default=inf)
        return self._costs[keys]

    def _docked(self, sections):
        tables = [self._section(content) for content in sections]
        if any(table is None for table in tables):
            return inf
        cost = docked(
            np.stack(tables), self.length, self.width, self.kerf, *self.least, self.per_mm2, self.covered
        )
        return float(self.board.value) + float(self.job.costs.handling) + cost

    def _section(self, content):
        """table[a, b]: the least cost of a section from a to b with these staves in y order; None if none."""
        if content not in self._sections:
            table = np.full((self.length + 1, self.length + 1), inf)
            for choice in product(*(self.staves(key) for key in content)):
                lengths = np.array([length for _, length, _ in choice])
                widths = np.array([width for _, _, width in choice])
                if widths.sum() + self.kerf * (len(choice) - 1) <= self.width:
                    ripped(
                        np.stack([costs for costs, _, _ in choice]), lengths, widths, self.width, self.kerf,
                        *self.least, self.per_mm2, self.covered, table,
                    )  # fmt: skip
            self._sections[content] = table if np.isfinite(table).any() else None
        return self._sections[content]

    def staves(self, key):
        """Each way round of a stave: (cost by rough x0 and y0, rough length, rough width)."""
        if key not in self._staves:
            number, outer, face, width = key
            # How it is turned decides which of the board's edges is the outer one, and both ways are free.
            edges = {0: [(False, False)], 1: [(True, False), (False, True)], 2: [(True, True)]}[outer]
            found = [self._stave(self.job.panels[number], face, width, low, high) for low, high in edges]
            if len(found) == 2 and found[0][2] == found[1][2] and np.array_equal(found[0][0], found[1][0]):
                found.pop()
            self._staves[key] = found
        return self._staves[key]

    def _stave(self, panel, face, finished_width, low_outer, high_outer):
        allowances, board = self.job.allowances, self.board
        outer, glued = up(allowances.side_trim_mm), up(allowances.edge_joint_mm)
        end = up(allowances.end_trim_mm)
        finished_length = up(panel.length_mm)
        length = finished_length + 2 * end
        along = Fraction(length) / decimal(board.length_mm)
        below = outer if low_outer else glued
        width = below + finished_width + (outer if high_outer else glued)
        width += ceil(decimal(board.distortion.spring_mm) * along * along)
        costs = np.full((self.length + 1, self.width + 1), inf)
        if not thick_enough(board, panel, allowances, length, width):
            return costs, length, width
        boxes, owners, avoided, owed, weak = [], [], [], [], []
        for defect in board.defects:
            planed = defect.depth_mm is not None and decimal(defect.depth_mm) <= decimal(
                allowances.face_planing_mm
            )
            if planed and defect.face is not Face.BOTH:
                continue
            out, charge = judged(defect, face, panel, self.job)
            for box in footprint(defect):
                boxes.append(box)
                owners.append(len(avoided))
            avoided.append(out)
            owed.append(charge)
            weak.append(defect.kind in WEAKENING)
        tried(
            costs, length, width, end, below, finished_length, finished_width,
            0 if low_outer else up(allowances.glue_clear_mm),
            0 if high_outer else up(allowances.glue_clear_mm),
            up(allowances.end_clear_mm), up(allowances.board_end_loss_mm), self.length, self.width,
            np.array(boxes, dtype=np.int64).reshape(-1, 4), np.array(owners, dtype=np.int64),
            np.array(avoided, dtype=np.bool_), np.array(owed, dtype=np.float64),
            np.array(weak, dtype=np.bool_),
        )  # fmt: skip
        return costs, length, width


@njit
def meets(x0, y0, x1, y1, box):
    return x0 < box[2] and box[0] < x1 and y0 < box[3] and box[1] < y1


@njit
def tried(
    costs, length, width, end, below, f_length, f_width, glue_low, glue_high, end_clear, end_loss,
    board_length, board_width, boxes, owners, avoided, owed, weak,
):  # fmt: skip
    """costs[x0, y0]: what the stave owes for its defects there; left at infinity where it is unlawful."""
    inside = np.zeros(len(avoided), dtype=np.bool_)
    for x0 in range(end_loss, board_length - end_loss - length + 1):
        for y0 in range(board_width - width + 1):
            fx0, fy0 = x0 + end, y0 + below
            fx1, fy1 = fx0 + f_length, fy0 + f_width
            lawful = True
            inside[:] = False
            for b in range(len(boxes)):
                box, owner = boxes[b], owners[b]
                if not meets(fx0, fy0, fx1, fy1, box):
                    continue
                inside[owner] = True
                if avoided[owner]:
                    lawful = False
                if weak[owner]:
                    if glue_low > 0 and meets(fx0, fy0, fx1, fy0 + glue_low, box):
                        lawful = False
                    if glue_high > 0 and meets(fx0, fy1 - glue_high, fx1, fy1, box):
                        lawful = False
                    if end_clear > 0 and meets(fx0, fy0, fx0 + end_clear, fy1, box):
                        lawful = False
                    if end_clear > 0 and meets(fx1 - end_clear, fy0, fx1, fy1, box):
                        lawful = False
            if lawful:
                charge = 0.0
                for d in range(len(owed)):
                    if inside[d]:
                        charge += owed[d]
                costs[x0, y0] = charge


@njit
def worth(x0, y0, x1, y1, least_length, least_width, per_mm2, covered):
    """What a remnant is credited with."""
    if x1 <= x0 or y1 <= y0 or x1 - x0 < least_length or y1 - y0 < least_width:
        return 0.0
    dirty = covered[x1, y1] - covered[x0, y1] - covered[x1, y0] + covered[x0, y0]
    return per_mm2 * ((x1 - x0) * (y1 - y0) - dirty)


@njit
def ripped(
    costs, lengths, widths, board_width, kerf, least_length, least_width, per_mm2, covered, table
):  # fmt: skip
    """Try every section from a to b with these staves in y order, and enter what costs less in the table.

    A section spans just its staves: one at least starts at a, one at least ends at b, and the others lie
    anywhere between. done[y, f]: the least cost with y the first place free for the next stave; f says
    whether a stave starts at a (1), ends at b (2), both (3) or neither (0).
    """
    count, ends = len(lengths), costs.shape[1]
    for a in range(ends):
        if not np.any(costs[:, a, :] < np.inf):
            continue
        anywhere = np.full((count, board_width + 1), np.inf)  # each stave's least cost from a to b, by its y
        for b in range(a + 1, ends):
            for s in range(count):
                if b - lengths[s] >= a:
                    for y in range(board_width + 1):
                        anywhere[s, y] = min(anywhere[s, y], costs[s, b - lengths[s], y])
            done = np.full((board_width + kerf + 1, 4), np.inf)
            done[0, 0] = 0.0
            for s in range(count):
                longer = np.full((board_width + kerf + 1, 4), np.inf)
                first = np.sum(widths[:s]) + kerf * s  # there must be room for the staves before and after
                last = board_width - np.sum(widths[s:]) - kerf * (count - 1 - s)
                for y in range(first, last + 1):
                    if anywhere[s, y] == np.inf:
                        continue
                    starts, stops = costs[s, a, y], costs[s, b - lengths[s], y]
                    for free in range(first, y + 1):
                        if done[free].min() == np.inf:
                            continue
                        gap = worth(a, free, b, y - kerf, least_length, least_width, per_mm2, covered)
                        for f in range(4):
                            if done[free, f] == np.inf:
                                continue
                            so_far, after = done[free, f] - gap, y + widths[s] + kerf
                            longer[after, f] = min(longer[after, f], so_far + anywhere[s, y])
                            longer[after, f | 1] = min(longer[after, f | 1], so_far + starts)
                            longer[after, f | 2] = min(longer[after, f | 2], so_far + stops)
                            if a + lengths[s] == b:
                                longer[after, 3] = min(longer[after, 3], so_far + starts)
                done = longer
            for free in range(board_width + kerf + 1):
                if done[free, 3] < np.inf:
                    gap = worth(a, free, b, board_width, least_length, least_width, per_mm2, covered)
                    table[a, b] = min(table[a, b], done[free, 3] - gap)


@njit
def docked(tables, length, width, kerf, least_length, least_width, per_mm2, covered):
    """The least cost of sections in this order along the board, offcuts between and at the ends credited."""
    until = np.full(length + 1, np.inf)  # least cost of all up to a section that ends there
    for a in range(length + 1):
        for b in range(a, length + 1):
            if tables[0, a, b] < np.inf:
                gap = worth(0, 0, a - kerf, width, least_length, least_width, per_mm2, covered)
                until[b] = min(until[b], tables[0, a, b] - gap)
    for s in range(1, len(tables)):
        longer = np.full(length + 1, np.inf)
        for before in range(length + 1):
            if until[before] == np.inf:
                continue
            for a in range(before + kerf, length + 1):
                gap = worth(before + kerf, 0, a - kerf, width, least_length, least_width, per_mm2, covered)
                for b in range(a, length + 1):
                    if tables[s, a, b] < np.inf:
                        longer[b] = min(longer[b], until[before] - gap + tables[s, a, b])
        until = longer
    best = np.inf
    for b in range(length + 1):
        if until[b] < np.inf:
            gap = worth(b + kerf, 0, length, width, least_length, least_width, per_mm2, covered)
            best = min(best, until[b] - gap)
    return best


def groupings(keys):
    """Every row of sections, each a row of staves in y order, that holds just these staves."""
    found = set()
    for order in set(permutations(keys)):
        for cuts in product((False, True), repeat=len(order) - 1):
            sections, section = [], [order[0]]
            for key, cut in zip(order[1:], cuts, strict=True):
                if cut:
                    sections.append(tuple(section))
                    section = []
                section.append(key)
            found.add((*sections, tuple(section)))
    return sorted(found)


def compositions(total, count, low, high):
    """Every row of `count` whole widths from low to high that add up to total."""
    if count == 0:
        if total == 0:
            yield ()
        return
    for first in range(low, min(high, total) + 1):
        for others in compositions(total - first, count - 1, low, high):
            yield (first, *others)


def judged(defect, face, panel, job):
    """(avoided?, what is owed) for a defect in a stave of the panel that shows `face`."""
    boxes = footprint(defect)
    treatments, penalties = [0.0], [0.0]
    for side in (face, face.other):
        if defect.face not in (side, Face.BOTH):
            continue
        seen = side is face or panel.show is Show.BOTH
        rule = (job.rules.show if seen else job.rules.back).get(defect.kind)
        do, price = verdict(rule, boxes)
        if do is Do.AVOID:
            return True, 0.0
        if do is Do.TREAT:
            treatments.append(price)
        elif seen:
            penalties.append(float(rule.penalty))
    return False, max(treatments) + max(penalties)


def verdict(rule, boxes):
    """What a rule (None: there is none) does with a defect of this footprint, and what treating it costs."""
    if rule is None or rule.do is Do.AVOID:
        return Do.AVOID, 0.0
    if rule.do is Do.ACCEPT:
        return Do.ACCEPT, 0.0
    length = max(box[2] for box in boxes) - min(box[0] for box in boxes)
    area = sum((x1 - x0) * (y1 - y0) for x0, y0, x1, y1 in boxes)
    if rule.max_length_mm is not None and length > rule.max_length_mm:
        return Do.AVOID, 0.0
    if rule.max_area_mm2 is not None and area > rule.max_area_mm2:
        return Do.AVOID, 0.0
    return Do.TREAT, float(rule.per_item) + float(rule.per_mm) * length


def footprint(defect):
    """[(x0, y0, x1, y1)]: the outline cut every 25 mm, each part's bounds out to whole millimetres."""
    outline = shapely.Polygon(defect.outline)
    boxes = []
    for left in range(0, ceil(outline.bounds[2]), 25):
        part = outline.intersection(shapely.box(left, -1000, left + 25, 1000))
        # An upright edge on the slice's border comes along as a mere line, which is no part of a slice.
        solid = shapely.union_all([p for p in shapely.get_parts(part) if p.area > 1e-9])
        if solid.area > 1e-9:
            x0, y0, x1, y1 = (round(edge, 6) for edge in solid.bounds)
            boxes.append((floor(x0), floor(y0), ceil(x1), ceil(y1)))
    return boxes


def joint_cost(one, face, other, other_face, job):
    """What two neighbours owe for their colours and rings."""
    ours, theirs = one.colour(face), other.colour(other_face)
    owed = 0.0
    if ours is not None and theirs is not None:
        owed += float(job.costs.match) * colour_difference(ours, theirs)
    if job.rings is not Rings.ANY:
        known = one.heart_face is not None and other.heart_face is not None
        same = (one.heart_face is face) == (other.heart_face is other_face)
        if not known or same != (job.rings is Rings.SAME):
            owed += float(job.costs.ring_break)
    return owed


def dry_enough(board, job):
    if board.moisture_pct is None:
        return job.moisture.unread is Unread.ALLOW
    return decimal(job.moisture.min_pct) <= decimal(board.moisture_pct) <= decimal(job.moisture.max_pct)


def evenly_dry(boards, job):
    known = [decimal(board.moisture_pct) for board in boards if board.moisture_pct is not None]
    return not known or max(known) - min(known) <= decimal(job.moisture.spread_pct)


def thick_enough(board, panel, allowances, length, width):
    along, across = Fraction(length) / decimal(board.length_mm), Fraction(width) / decimal(board.width_mm)
    bend = board.distortion
    lost = decimal(bend.bow_mm) * along**2 + decimal(bend.cup_mm) * across**2
    lost += decimal(bend.twist_mm) * along * across + 2 * decimal(allowances.face_planing_mm)
    return decimal(board.thickness_mm) - lost >= decimal(panel.thickness_mm)


def decimal(value):
    return Fraction(str(value))


def up(value):
    return ceil(decimal(value))


def down(value):
    return floor(decimal(value))
