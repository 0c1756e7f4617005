"""From a photograph of a sheet on its page to each hole's error. Knows no command, no page."""
