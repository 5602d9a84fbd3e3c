"""A meter beside a reference: the line, the physical curves and their evidence, what it says and what to do."""
