-- How many structures over dominant chords, a shell and a triad each, share a set class?
SELECT forte, count(*) AS structures
FROM (SELECT DISTINCT quality, shell, label, forte FROM census WHERE family = 'dominant')
GROUP BY forte
ORDER BY structures DESC, forte
