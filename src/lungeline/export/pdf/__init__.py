"""The plan as a PDF for print: one page to work by, drug sheet, labels, emergency card, blank chart."""

from lungeline.export.pdf.plan_pdf import PAGES, PAPERS, plan_pdf

__all__ = ["PAGES", "PAPERS", "plan_pdf"]
