"""Draw boards and plans: face maps, panel layouts with their joints, cut maps."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from stockyard.drawings import Drawing, board_sheets, cut_sheets, panel_sheets
from stockyard.drawings.joint_marks import LineJoints
from stockyard.drawings.sheet import Sheet
from stockyard.prep.joints import JointHabits, JointLine, joint_layout
from stockyard.services.habits import habits_of
from stockyard.services.plan_job import KeptPlan, show_plan
from stockyard.services.show_board import show_board

if TYPE_CHECKING:
    from stockyard.records import OpenWork


def draw_boards(open_work: "OpenWork", numbers: Sequence[str]) -> Drawing:
    """The face maps of boards, gone ones too, each from a page of its own.

    Raises NotFound, with near numbers.
    """
    boards = [show_board(open_work, number).board for number in numbers]
    pages = tuple(page for board in boards for page in board_sheets(board))
    return Drawing("-".join(numbers[:3]), f"Boards {', '.join(numbers)}", pages)


def draw_plan(
    open_work: "OpenWork", number: int, *, panels: Sequence[str] | None = None, cuts: bool = True
) -> Drawing:
    """A plan's panel layouts, joints by the workshop's habit, and the cut map of every board it cuts.

    panels: only these; all when None. cuts: with the cut maps. Raises NotFound for no such plan or panel.
    """
    kept = show_plan(open_work, number, only_used=True)
    with open_work(reading=True) as work:
        joints = habits_of(work).prep.joints
    pages = panel_pages(kept, joints_by_panel(kept, joints), panels)
    if cuts:
        pages += [page for cut in kept.plan.boards for page in cut_sheets(kept.plan, kept.boards[cut.id])]
    return Drawing(f"plan-{number}", f"Plan {number} for {kept.booked.job}", tuple(pages))


def panel_pages(
    kept: KeptPlan, joints: Mapping[str, Sequence[LineJoints]], panels: Sequence[str] | None = None
) -> list[Sheet]:
    """The layouts of a plan's panels with the joints given for each."""
    wanted = [panel.id for panel in kept.plan.panels] if panels is None else panels
    return [
        page
        for panel in wanted
        for page in panel_sheets(kept.plan, panel, kept.boards, joints.get(panel, ()))
    ]


def joints_by_panel(kept: KeptPlan, habits: JointHabits) -> dict[str, list[LineJoints]]:
    """The joints of each panel that a plan makes."""
    return {
        made.id: line_joints(joint_layout(made, kept.boards, habits), habits)
        for made in kept.plan.panels
        if made.made
    }


def line_joints(lines: Sequence[JointLine], habits: JointHabits) -> list[LineJoints]:
    """Joints as the drawings take them."""
    return [
        LineJoints(
            kind=habits.kind.value,
            between=(line.between[0] + 1, line.between[1] + 1),
            y_mm=line.y_mm,
            centres_mm=tuple(joint.centre_mm for joint in line.joints),
            stretches_mm=line.stretches,
            half_length_mm=habits.half_length_mm,
            reach_mm=habits.reach_mm,
            marks_mm=habits.marks_mm,
        )
        for line in lines
        if line.joints or line.stretches
    ]
