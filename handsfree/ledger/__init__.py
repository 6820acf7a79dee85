"""The ledger: many visits in one database, for queries across doors and years.

It holds nothing that the journals do not hold, and is rebuilt from them at any time.
"""
