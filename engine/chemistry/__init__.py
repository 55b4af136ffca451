"""Water and lime as the handbooks have them: equilibria, gas, strength, salts, uncertainty."""
