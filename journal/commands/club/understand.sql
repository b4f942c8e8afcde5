-- The same movements with their meaning; one apostrophe in front of a text is the mark against formulas.
CREATE OR REPLACE TEMP TABLE movements AS
SELECT
    p.package, p.member, unmarked(id) AS id, CAST(date AS DATE) AS day, year(day) AS year,
    date_trunc('month', day)::DATE AS month, date_trunc('week', day)::DATE AS week, 
    from_kind, to_kind, unmarked(coalesce(to_name, '')) AS to_name,
    unmarked(coalesce(arrived_as, '')) AS arrived_as, coalesce(stream, '') AS stream,
    matter = 'waste' AS waste, matter = 'castings' AS castings, unmarked(coalesce(giver, '')) AS giver,
    CAST(counted AS TINYINT) AS counted, CAST(kg AS DOUBLE) AS kg, CAST(own_doubt_kg AS DOUBLE) AS own,
    unmarked(same_weighing) AS same_weighing, coalesce(shared_doubt, '') AS shared_doubt,
    CAST(share_landfill AS DOUBLE) AS landfill, CAST(share_combustion AS DOUBLE) AS combustion,
    CAST(share_unknown AS DOUBLE) AS unknown,
    NOT EXISTS (
        SELECT 1 FROM told_elsewhere AS e WHERE e.package = p.package AND day BETWEEN e.first AND e.last
    ) AND p.keep AS keep
FROM cells_as_text JOIN at_hand AS p USING (package);

-- What each movement adds to which figure: `times` its mass.
CREATE OR REPLACE TEMP TABLE told AS
SELECT
    m.package, m.member, m.id, m.year, m.month, m.week, m.stream, m.giver, m.kg, m.own, m.same_weighing, m.shared_doubt, m.arrived_as,
    m.landfill, m.combustion, m.unknown, m.keep, r.figure,
    r.sign * CASE WHEN r.landfilled THEN m.landfill + m.unknown ELSE 1 END AS times
FROM movements AS m
JOIN rules AS r USING (counted, waste, castings, from_kind, to_kind);

-- What of its doubt each movement shares, cause by cause. A cause is of one household, or the catalogue's and so of all.
CREATE OR REPLACE TEMP TABLE causes_told AS
SELECT
    * EXCLUDE (piece, kg, own, same_weighing, shared_doubt),
    cause_of(piece, member) AS cause, part_of(piece) AS part
FROM (SELECT *, unnest(string_split(shared_doubt, '; ')) AS piece FROM told WHERE shared_doubt <> '');
