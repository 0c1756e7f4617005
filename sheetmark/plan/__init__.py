"""From a case to its plan: dentition, isolation, holes, placement, strips, clamps. No drawing."""
