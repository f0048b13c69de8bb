"""Many boats side by side: collections, measures, shapes, trends, and their plots."""
