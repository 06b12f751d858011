"""The joint solution of cards, cameras and hull."""
