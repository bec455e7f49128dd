"""Bolted joints, threads, press fits: clamp, its loss and what it can hold."""
