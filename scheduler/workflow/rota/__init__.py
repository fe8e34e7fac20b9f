"""Rotas of a site: made from plan and log, published, and changed by hand."""
