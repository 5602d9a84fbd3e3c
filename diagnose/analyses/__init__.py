"""What pairs of readings and logs say: the analysis a metrologist would make, and the findings that follow."""
