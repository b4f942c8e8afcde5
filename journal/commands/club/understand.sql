-- The same movements with their meaning; one apostrophe in front of a text is the mark against formulas.
CREATE OR REPLACE TEMP TABLE movements AS
SELECT
    row, unmarked(id) AS id, CAST(date AS DATE) AS day, unmarked(line) AS line, entry,
    from_kind, to_kind, unmarked(coalesce(to_name, '')) AS to_name,
    unmarked(coalesce(arrived_as, '')) AS arrived_as, coalesce(stream, '') AS stream,
    matter = 'waste' AS waste, matter = 'castings' AS castings, unmarked(coalesce(giver, '')) AS giver,
    CAST(counted AS TINYINT) AS counted, CAST(kg AS DOUBLE) AS kg, CAST(own_doubt_kg AS DOUBLE) AS own,
    unmarked(same_weighing) AS same_weighing, coalesce(shared_doubt, '') AS shared_doubt,
    CAST(share_landfill AS DOUBLE) AS landfill, CAST(share_combustion AS DOUBLE) AS combustion,
    CAST(share_unknown AS DOUBLE) AS unknown
FROM cells_as_text;

-- What each movement adds to which figure: `times` its mass.
CREATE OR REPLACE TEMP TABLE told AS
SELECT
    m.row, m.id, m.day, m.line, m.stream, m.giver, m.kg, m.own, m.same_weighing, m.shared_doubt, m.arrived_as,
    m.landfill, m.combustion, m.unknown, r.figure,
    r.sign * CASE WHEN r.landfilled THEN m.landfill + m.unknown ELSE 1 END AS times
FROM movements AS m
JOIN rules AS r USING (counted, waste, castings, from_kind, to_kind);
