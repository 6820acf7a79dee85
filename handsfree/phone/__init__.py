"""The companion as a web app on a phone: building it, serving it, and the code inside it."""
