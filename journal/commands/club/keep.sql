-- Adds one package's movements to the club's tables. `$package` gave them, `$member` is the household; days that a
-- later package of the same household tells are left out, and what another member counts is taken off.
CREATE OR REPLACE TEMP TABLE counted AS
WITH here AS (
    SELECT * FROM told AS t
    WHERE NOT EXISTS (SELECT 1 FROM told_elsewhere AS e WHERE t.day BETWEEN e.first AND e.last)
),
handed AS (SELECT id, giver, how, part FROM handed_on WHERE package = $package),
passed AS (
    SELECT m.*, h.part FROM movements AS m JOIN handed AS h USING (id) WHERE h.how = 'from store'
),
every AS (
    SELECT
        $member AS member, id, day, stream, figure, kg, own, same_weighing, shared_doubt, arrived_as,
        landfill, combustion, unknown, times * (1 - CASE
            WHEN figure IN ('taken_in', 'kept_out_of_landfill') THEN coalesce(part, 0) ELSE 0
        END) AS times
    FROM here LEFT JOIN (SELECT id, part FROM handed WHERE how = 'at the door') USING (id)
    UNION ALL
    SELECT
        $member, id, day, stream, figure, kg, own, same_weighing, shared_doubt, arrived_as,
        landfill, combustion, unknown, -part * CASE figure WHEN 'taken_in' THEN 1 ELSE landfill + unknown END
    FROM passed, (VALUES ('taken_in'), ('kept_out_of_landfill')) AS of (figure)
    UNION ALL
    SELECT
        giver, id, day, stream, figure, kg, own, same_weighing, shared_doubt, arrived_as,
        landfill, combustion, unknown, -part * times
    FROM (SELECT * EXCLUDE (giver) FROM here) JOIN handed USING (id)
    WHERE how = 'unwritten' AND figure IN ('taken_in', 'kept_out_of_landfill', 'kept_in_use')
)
SELECT
    * EXCLUDE (same_weighing), coalesce(same_weighing, id) AS weighing,
    date_trunc('week', day)::DATE AS week, date_trunc('month', day)::DATE AS month
FROM every;

CREATE OR REPLACE TEMP TABLE weighed AS
SELECT *, count(*) OVER (PARTITION BY figure, weighing) AS places
FROM (
    SELECT member, week, month, stream, figure, weighing, sum(kg * times) AS kg, sum(own * times) AS part
    FROM counted GROUP BY ALL
);

INSERT INTO cells
SELECT member, week, month, stream, figure, sum(kg), sum(CASE WHEN places = 1 THEN part * part ELSE 0 END)
FROM weighed GROUP BY ALL;

INSERT INTO splits
SELECT member, week, month, stream, figure, $package || '/' || weighing, part
FROM weighed WHERE places > 1 AND part <> 0;

-- A cause is the household's own or the catalogue's; the catalogue's is the same for every household.
CREATE OR REPLACE TEMP TABLE shared AS
SELECT
    member, week, month, stream, figure, arrived_as, landfill, combustion, unknown, times,
    hash(CASE WHEN starts_with(piece, 'household: ') THEN $member ELSE 0 END, split_part(piece, '=', 1)) AS cause,
    CAST(split_part(piece, '=', 2) AS DOUBLE) AS part
FROM (SELECT *, unnest(string_split(shared_doubt, '; ')) AS piece FROM counted WHERE shared_doubt <> '');

INSERT INTO causes
SELECT member, week, month, stream, figure, cause, sum(part * times) AS part
FROM shared GROUP BY ALL HAVING sum(part * times) <> 0;

INSERT INTO used
SELECT
    member, year(month), arrived_as, stream, landfill, combustion, unknown, sum(kg), sum(variance), sum(linear)
FROM (
    SELECT
        member, month, arrived_as, stream, landfill, combustion, unknown,
        kg * times AS kg, (own * times) * (own * times) AS variance, 0 AS linear
    FROM counted WHERE figure = 'kept_in_use'
    UNION ALL
    SELECT member, month, arrived_as, stream, landfill, combustion, unknown, 0, 0, abs(part * times)
    FROM shared WHERE figure = 'kept_in_use'
)
GROUP BY ALL;

INSERT INTO presence
SELECT $member, date_trunc('week', day)::DATE AS week, date_trunc('month', day)::DATE AS month, count(DISTINCT day)
FROM movements AS m
WHERE NOT EXISTS (SELECT 1 FROM told_elsewhere AS e WHERE m.day BETWEEN e.first AND e.last)
GROUP BY ALL;
