"""Small sites for the rota, and its referees: a checker, every rota of a small site, a rota by hand."""
