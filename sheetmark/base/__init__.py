"""What every room stands on: findings, files, TOML, the user's folder, sources. No dentistry."""
