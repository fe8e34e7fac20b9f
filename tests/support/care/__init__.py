"""Descriptions and records whose jobs and notes are looked at."""
