"""What readers do beside each other: copies out and back, what is left out of them, merge, agreement, worksheet.

Rank 4: it reads and writes the register through its door; the register knows nothing of copies.
"""
