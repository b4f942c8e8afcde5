-- The club's totals at every level, each with its doubt: independent weighings add up in quadrature, a cause that
-- several lines or households share adds up linearly (JCGM 100:2008, 5.1.2 and 5.2.2). A level's empty keys are NULL.
WITH levels AS (
    SELECT
        CAST(NULL AS UINTEGER) AS member, CAST(NULL AS INTEGER) AS year, CAST(NULL AS DATE) AS month,
        CAST(NULL AS DATE) AS week, CAST(NULL AS VARCHAR) AS stream, CAST(NULL AS VARCHAR) AS figure,
        CAST(NULL AS DOUBLE) AS kg, CAST(NULL AS DOUBLE) AS variance
    WHERE false
    UNION ALL
    SELECT member, year(month) AS year, month, week, stream, figure, added(kg), added(variance)
    FROM cells
    GROUP BY GROUPING SETS (
        (figure), (figure, year(month)), (figure, month), (figure, week), (figure, stream),
        (figure, year(month), stream), (figure, month, stream),
        (figure, member), (figure, member, year(month)), (figure, member, stream)
    )
    UNION ALL
    SELECT member, year, month, week, stream, figure, 0, added(part * part)
    FROM (
        SELECT
            member, year(month) AS year, month, week, stream, figure, weighing, added(part) AS part,
        FROM splits
        GROUP BY GROUPING SETS (
            (figure, weighing), (figure, weighing, year(month)), (figure, weighing, month),
            (figure, weighing, week), (figure, weighing, stream),
            (figure, weighing, year(month), stream), (figure, weighing, month, stream),
            (figure, weighing, member), (figure, weighing, member, year(month)), (figure, weighing, member, stream)
        )
    )
    GROUP BY member, year, month, week, stream, figure
    UNION ALL
    SELECT member, year, month, week, stream, figure, 0, added(part * part)
    FROM (
        SELECT
            member, year(month) AS year, month, week, stream, figure, cause, added(part) AS part,
        FROM causes
        GROUP BY GROUPING SETS (
            (figure, cause), (figure, cause, year(month)), (figure, cause, month),
            (figure, cause, week), (figure, cause, stream),
            (figure, cause, year(month), stream), (figure, cause, month, stream),
            (figure, cause, member), (figure, cause, member, year(month)), (figure, cause, member, stream)
        )
    )
    GROUP BY member, year, month, week, stream, figure
)
SELECT member, year, month, week, stream, figure, added(kg) AS kg, added(variance) AS variance
FROM levels
GROUP BY member, year, month, week, stream, figure
ORDER BY member, year, month, week, stream, figure;
