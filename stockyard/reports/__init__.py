"""Ledger and boards as pandas tables and charts."""
