-- How rough are voicings of each verdict, on average and in the unit of each model?
SELECT verdict, count(*) AS combinations,
       avg(roughness_hutchinson_knopoff) AS hutchinson_knopoff, avg(roughness_sethares) AS sethares
FROM census
GROUP BY verdict
ORDER BY verdict
