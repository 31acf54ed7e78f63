"""How the service is run and guarded: gunicorn, gateway, tokens, limits, log, health, reload."""
