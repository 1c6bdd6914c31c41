"""Drawings, sheets and models out: carries what the rooms have computed, computes nothing of its own."""
