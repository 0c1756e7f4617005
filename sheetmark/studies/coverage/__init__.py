"""How many patients an arch model serves: patients drawn from published means and SDs, each with
an arch of their own, held against the printed holes. Works on arrays; nothing else loads it."""
