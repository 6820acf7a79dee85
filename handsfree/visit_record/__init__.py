"""The record of a visit, built from its events; summary, report, export and office are views of
it.
"""
