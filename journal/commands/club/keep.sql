-- Adds what is to be kept of the packages at hand to the club's tables, in the periods that all totals add up from.
-- What one member handed to another comes off the giver's count; see the table handed_on.
CREATE OR REPLACE TEMP TABLE handed AS
FROM handed_on WHERE package IN (SELECT package FROM at_hand);

CREATE OR REPLACE TEMP TABLE counted AS
SELECT
    t.* EXCLUDE (keep) REPLACE (
        t.times * (1 - CASE WHEN t.figure IN ('taken_in', 'kept_out_of_landfill') THEN h.at_the_door ELSE 0 END) AS times,
        CASE WHEN h.unwritten THEN coalesce(t.same_weighing, t.id) ELSE t.same_weighing END AS same_weighing
    ), t.member AS owner
FROM told AS t
JOIN (
    SELECT
        package, id, added(CASE WHEN how = 'at the door' THEN part ELSE 0 END) AS at_the_door,
        bool_or(how = 'unwritten') AS unwritten
    FROM handed GROUP BY package, id
) AS h USING (package, id)
WHERE t.keep
UNION ALL BY NAME
SELECT
    t.* EXCLUDE (keep) REPLACE (
        h.giver AS member, -h.part * t.times AS times, coalesce(t.same_weighing, t.id) AS same_weighing
    ), t.member AS owner
FROM told AS t JOIN handed AS h USING (package, id)
WHERE t.keep AND h.how = 'unwritten' AND t.figure IN ('taken_in', 'kept_out_of_landfill', 'kept_in_use')
UNION ALL BY NAME
SELECT
    m.package, m.member, m.id, m.year, m.month, m.week, m.stream, m.giver, m.kg, m.own, m.same_weighing,
    m.shared_doubt, m.arrived_as, m.landfill, m.combustion, m.unknown, f.figure,
    -h.part * CASE f.figure WHEN 'taken_in' THEN 1 ELSE m.landfill + m.unknown END AS times, m.member AS owner
FROM movements AS m JOIN handed AS h USING (package, id),
    (VALUES ('taken_in'), ('kept_out_of_landfill')) AS f (figure)
WHERE m.keep AND h.how = 'from store';

-- Only of what was handed on are rows changed or added; all others count as they are told.
CREATE OR REPLACE TEMP VIEW everything AS
SELECT * EXCLUDE (keep), member AS owner FROM told AS t
WHERE keep AND NOT EXISTS (SELECT 1 FROM handed AS h WHERE h.package = t.package AND h.id = t.id)
UNION ALL BY NAME
FROM counted;

CREATE OR REPLACE TEMP VIEW everything_shared AS
SELECT * EXCLUDE (keep) FROM causes_told AS c
WHERE keep AND NOT EXISTS (SELECT 1 FROM handed AS h WHERE h.package = c.package AND h.id = c.id)
UNION ALL BY NAME
SELECT
    * EXCLUDE (piece, kg, own, owner, same_weighing, shared_doubt), cause_of(piece, owner) AS cause,
    part_of(piece) AS part
FROM (SELECT *, unnest(string_split(shared_doubt, '; ')) AS piece FROM counted WHERE shared_doubt <> '');

INSERT INTO cells
SELECT
    member, week, month, stream, figure, added(kg * times),
    added(CASE WHEN same_weighing IS NULL THEN (own * times) * (own * times) ELSE 0 END)
FROM everything GROUP BY member, week, month, stream, figure;

CREATE OR REPLACE TEMP TABLE weighed AS
SELECT *, count(*) OVER (PARTITION BY package, figure, same_weighing) AS places
FROM (
    SELECT package, member, week, month, stream, figure, same_weighing, added(own * times) AS part
    FROM everything WHERE same_weighing IS NOT NULL
    GROUP BY package, member, week, month, stream, figure, same_weighing
);

INSERT INTO cells
SELECT member, week, month, stream, figure, 0, added(part * part)
FROM weighed WHERE places = 1 GROUP BY member, week, month, stream, figure;

INSERT INTO splits
SELECT member, week, month, stream, figure, package || '/' || same_weighing, part
FROM weighed WHERE places > 1 AND part <> 0;

INSERT INTO causes
SELECT member, week, month, stream, figure, cause, added(part * times) AS part
FROM everything_shared GROUP BY member, week, month, stream, figure, cause HAVING added(part * times) <> 0;

INSERT INTO used
SELECT member, year, arrived_as, stream, landfill, combustion, unknown, added(kg), added(variance), added(linear)
FROM (
    SELECT
        member, year, arrived_as, stream, landfill, combustion, unknown,
        kg * times AS kg, (own * times) * (own * times) AS variance, 0 AS linear
    FROM everything WHERE figure = 'kept_in_use'
    UNION ALL
    SELECT member, year, arrived_as, stream, landfill, combustion, unknown, 0, 0, abs(part * times)
    FROM everything_shared WHERE figure = 'kept_in_use'
)
GROUP BY member, year, arrived_as, stream, landfill, combustion, unknown;

INSERT INTO unknown_fate
SELECT member, added(kg * times * unknown / (landfill + unknown))
FROM everything WHERE figure = 'kept_out_of_landfill' AND unknown > 0 GROUP BY member;

INSERT INTO presence
SELECT member, week, month, count(DISTINCT day) FROM movements WHERE keep GROUP BY member, week, month;
