"""Ledgers of many benches as one hierarchical model: what they say of grades, steel and charge."""
