"""From the environment and the options given to a yard that can be worked in."""
