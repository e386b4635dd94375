"""From a plan to the bench: treatments, joint layout, order of work, glue-up figures."""
