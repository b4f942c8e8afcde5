-- The totals of one package, added up from its movements: for every scope and name, value, expanded doubt (k = 2), lines.
WITH scoped AS (
    SELECT 'since start' AS scope, 'all' AS name, * FROM told
    UNION ALL SELECT 'year', strftime(day, '%Y'), * FROM told
    UNION ALL SELECT 'month', strftime(day, '%Y-%m'), * FROM told
    UNION ALL SELECT 'stream', stream, * FROM told WHERE stream <> ''
    UNION ALL SELECT 'giver', giver, * FROM told WHERE giver <> ''
),
weighings AS (
    SELECT scope, name, figure, sum(kg * times) AS kg, sum(own * times) AS part
    FROM scoped GROUP BY scope, name, figure, coalesce(same_weighing, id)
),
pieces AS (
    SELECT scope, name, figure, times, unnest(string_split(shared_doubt, '; ')) AS piece
    FROM scoped WHERE shared_doubt <> ''
),
causes AS (
    SELECT scope, name, figure, 0 AS kg, sum(CAST(split_part(piece, '=', 2) AS DOUBLE) * times) AS part
    FROM pieces GROUP BY scope, name, figure, split_part(piece, '=', 1)
)
SELECT scope, name, figure, sum(kg) AS kg, 2 * sqrt(sum(part * part)) AS doubt_kg
FROM (FROM weighings UNION ALL FROM causes)
GROUP BY scope, name, figure
ORDER BY scope, name, figure;
