"""The cheapest sizes that work; judged by `sizing`, priced by `pricing`."""
