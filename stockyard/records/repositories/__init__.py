"""What a unit of work finds and keeps, one repository for each noun. They take and give frozen values."""
