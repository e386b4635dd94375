"""From a plan to the bench: what each flaw needs first, where joints go, what the glue-up takes, and when.

Figures a workshop would argue about are settings with the trade's habit as their default; those with a
published source name it. Cautions defer to the product's label and to local rules, and replace neither.
"""
