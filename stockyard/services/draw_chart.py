"""Draw a report's chart.

draw_chart(open_work, name, form, as_of, since, until) -> bytes
"""

from datetime import date
from threading import Lock
from typing import TYPE_CHECKING

from stockyard.services.make_report import make_report

if TYPE_CHECKING:
    from stockyard.records import OpenWork

_ONE_AT_A_TIME = Lock()  # Matplotlib's settings are everybody's


def draw_chart(
    open_work: "OpenWork",
    name: str,
    form: str = "svg",
    *,
    as_of: date | None = None,
    since: date | None = None,
    until: date | None = None,
) -> bytes:
    """The chart of the report of that name, SVG or PNG.

    Raises BadInput as `make_report` does, and where the report has no chart or nothing to draw.
    """
    from stockyard.reports.charts import chart_of

    report = make_report(open_work, name, as_of=as_of, since=since, until=until)
    with _ONE_AT_A_TIME:
        return chart_of(report, form)
