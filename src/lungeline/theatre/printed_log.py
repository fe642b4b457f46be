"""The log of a machine for print."""

from datetime import datetime

from lungeline.export.pdf.check_log_page import check_log_pdf
from lungeline.theatre.equipment import Equipment
from lungeline.theatre.equipment_log import machine_log
from lungeline.theatre.people import check_right


def print_log(
    equipment: Equipment, name: str, *, paper: str = "a4", printed_at: datetime | None = None, mark: str = ""
) -> bytes:
    """Return the log of a machine as PDF: how it stands, how its leak goes, every check, what proves it.

    mark: what every sheet bears where the machine is one of a demonstration.
    """
    check_right(equipment.desk.person(), "export")
    moment = printed_at or equipment.desk.clock()
    return check_log_pdf(machine_log(equipment, name), paper=paper, printed_at=moment, mark=mark)
