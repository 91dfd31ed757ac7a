"""Proposals: choices of cloth and lines that are good in different ways, each with its plain figures and its reason."""
