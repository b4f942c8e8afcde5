-- The totals of each package at hand, added up from its movements: value and expanded doubt (k = 2) in kg for every
-- period, stream and giver. Own doubts of one weighing, and parts of one cause, add up linearly; all else in quadrature.
WITH alone AS (
    SELECT
        package, year, month, stream, giver, figure,
        added(kg * times) AS kg, added((own * times) * (own * times)) AS variance
    FROM told WHERE same_weighing IS NULL
    GROUP BY GROUPING SETS (
        (package, figure), (package, figure, year), (package, figure, month),
        (package, figure, stream), (package, figure, giver)
    )
),
split AS (
    SELECT package, year, month, stream, giver, figure, added(kg) AS kg, added(part * part) AS variance
    FROM (
        SELECT
            package, year, month, stream, giver, figure, same_weighing,
            added(kg * times) AS kg, added(own * times) AS part
        FROM told WHERE same_weighing IS NOT NULL
        GROUP BY GROUPING SETS (
            (package, figure, same_weighing), (package, figure, same_weighing, year),
            (package, figure, same_weighing, month),
            (package, figure, same_weighing, stream), (package, figure, same_weighing, giver)
        )
    )
    GROUP BY package, year, month, stream, giver, figure
),
shared AS (
    SELECT package, year, month, stream, giver, figure, 0 AS kg, added(part * part) AS variance
    FROM (
        SELECT
            package, year, month, stream, giver, figure, cause,
            added(part * times) AS part
        FROM causes_told
        GROUP BY GROUPING SETS (
            (package, figure, cause), (package, figure, cause, year),
            (package, figure, cause, month),
            (package, figure, cause, stream), (package, figure, cause, giver)
        )
    )
    GROUP BY package, year, month, stream, giver, figure
),
summed AS (
    SELECT
        package, year, month, stream, giver, figure, added(kg) AS kg, 2 * sqrt(added(variance)) AS doubt_kg
    FROM (FROM alone UNION ALL FROM split UNION ALL FROM shared)
    GROUP BY package, year, month, stream, giver, figure
)
SELECT
    package,
    CASE
        WHEN month IS NOT NULL THEN 'month' WHEN year IS NOT NULL THEN 'year'
        WHEN stream IS NOT NULL THEN 'stream' WHEN giver IS NOT NULL THEN 'giver' ELSE 'since start'
    END AS scope,
    coalesce(strftime(month, '%Y-%m'), lpad(year::VARCHAR, 4, '0'), stream, giver, 'all') AS name,
    figure, kg, doubt_kg
FROM summed
WHERE coalesce(stream, giver, 'castings are in no stream and nobody''s') <> ''
ORDER BY package, scope, name, figure;
