"""The ledger: many visits in one database, for queries across doors and years.

It holds only what the journals hold, and can be rebuilt from them at any time.
"""
