"""Where a part goes on a sheet: the search for the densest filling."""
