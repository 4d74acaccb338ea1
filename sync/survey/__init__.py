"""Stage 3: from quadrats and clips to the crop that stands in a cell."""
