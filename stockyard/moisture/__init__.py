"""Wood and water: equilibrium, meter correction, shrinkage, movement, readiness."""
