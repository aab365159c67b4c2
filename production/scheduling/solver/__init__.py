"""Finite scheduling: every operation on a station that is open and free, every coated part on a lorry. Pure."""
