"""The low-energy limits as data, and the rules that judge a job by them."""
