"""Stock, job and plan as JSON documents: read with every fault found and placed, written so they read back.

    stockyard.stock/1   the boards to choose from
    stockyard.job/1     the panels wanted, and the settings to make them under
    stockyard.plan/1    the answer

Knows the documents; knows nothing of where files lie or of how plans are found.

    text        JSON text into plain values
    fields      one document being read: checks, places, faults
    stock_file, job_file, plan_file, plan_reading   one document each
"""

from stockyard.selection.interchange.job_file import job_document, read_job
from stockyard.selection.interchange.plan_file import plan_document
from stockyard.selection.interchange.plan_reading import read_plan
from stockyard.selection.interchange.stock_file import read_stock, stock_document

__all__ = ["job_document", "plan_document", "read_job", "read_plan", "read_stock", "stock_document"]
