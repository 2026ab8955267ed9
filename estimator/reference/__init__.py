"""Tables from resources/, loaded once and checked."""
