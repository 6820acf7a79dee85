"""The office: a local web page over a folder of visits."""
