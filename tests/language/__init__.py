"""Tests of language: cleaning, findings, quantities, and any text at all."""
