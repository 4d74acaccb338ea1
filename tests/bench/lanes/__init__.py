"""Made-up days of picking whose truth is known second by second."""
