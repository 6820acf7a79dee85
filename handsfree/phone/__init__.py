"""The companion as a web app on a phone: how it is built, served, and what runs inside it."""
