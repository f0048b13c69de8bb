"""A boat afloat, from what her table says: report, plots, drawings, sail plan."""
