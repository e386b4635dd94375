"""Stockyard: timber stock inventory and defect-aware board selection for a furniture workshop."""

__version__ = "0.1.0"
