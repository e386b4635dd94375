"""The use cases, one verb a file; what the command line, the web and scripts call."""
