"""HTTP in and out: views of a few lines over the services."""
