"""The version of sheetmark, printed on every page."""

__version__ = "0.1.0"
LINE = f"sheetmark {__version__}"
