-- How many households wrote something that moved, by week and by month, and each household's days.
SELECT 'week' AS scope, week AS start, NULL AS member, count(DISTINCT member) AS households, 0 AS days
FROM presence GROUP BY week
UNION ALL
SELECT 'month', month, NULL, count(DISTINCT member), 0 FROM presence GROUP BY month
UNION ALL
SELECT 'member', NULL, member, 1, sum(days) FROM presence GROUP BY member
ORDER BY scope, start, member;
