"""The reduced test judged: findings against the nameplate, verdict, cautions, and the results tree."""
