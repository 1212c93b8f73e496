-- Which triads never clash over a family of chords, whatever the root, the shell, the octave and the inversion?
SELECT family, label, count(*) AS combinations, count(*) FILTER (WHERE verdict = 'colour') AS colour
FROM census
GROUP BY family, label
HAVING NOT bool_or(verdict = 'clash')
ORDER BY family, label
