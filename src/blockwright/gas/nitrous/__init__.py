"""Nitrous oxide: its properties, flow through jets, the bottle, the charge, and what can go wrong."""
