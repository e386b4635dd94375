"""Wood and water: what a meter really says, where the air will take the wood, when, and what it does to it.

Pure functions on figures. Every table and coefficient names its source, and a workshop can hand in its own.
Temperatures are degrees Celsius, humidity a share 0..1, moisture content percent of ovendry mass. What is
not known is said to be unknown; it is never taken as zero.
"""
