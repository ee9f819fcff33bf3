"""Loamery: from lab reports of free organic by-products and of soil to a season plan and its evidence."""

__version__ = "0.1.0"
