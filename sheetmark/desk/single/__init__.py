"""The chairside page as one HTML file: the same application inside the browser, no server."""
