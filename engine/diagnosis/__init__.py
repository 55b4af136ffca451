"""Why alkalinity or pH left what the plan foretold."""
