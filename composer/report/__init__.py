"""What people take away: the sheet and everything written from it."""

from composer.report.folder import write_folder
from composer.report.learning import Sessions
from composer.report.model import Sheet
from composer.report.sheet import sheet_from

__all__ = ["Sessions", "Sheet", "sheet_from", "write_folder"]
