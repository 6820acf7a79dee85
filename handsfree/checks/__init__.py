"""The low-energy limits as data, and rules that judge a job by them."""
