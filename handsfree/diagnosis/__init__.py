"""Search trees: from a complaint to its cause, remedy and proof, the cheapest check first."""
