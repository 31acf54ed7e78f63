"""How the service is run and guarded: gateway, tokens, limits, log, health, reload."""
