-- The first row of each package at hand that no package of this program holds: its number (the head being 1), the
-- column, the cell as it stands, and what is wrong with it.
WITH seen AS (
    SELECT
        *,
        try_cast(date AS DATE) AS day,
        try_cast(kg AS DOUBLE) AS mass,
        try_cast(own_doubt_kg AS DOUBLE) AS doubt,
        [try_cast(share AS DOUBLE) FOR share IN
            [share_landfill, share_recycling, share_council_collection, share_combustion, share_unknown]
            IF share IS NOT NULL] AS shares,
        p.first, p.last, p.givers, d.id IS NOT NULL AS twice
    FROM cells_as_text AS t
    JOIN at_hand AS p USING (package)
    LEFT JOIN (
        SELECT package, id FROM cells_as_text WHERE id IS NOT NULL GROUP BY package, id HAVING count(*) > 1
    ) AS d USING (package, id)
),
judged AS (
    SELECT package, place, CASE
        WHEN id IS NULL THEN ['id', '', 'is empty']
        WHEN twice THEN ['id', id, 'stands on more than one row']
        WHEN day IS NULL OR NOT regexp_full_match(date, '\d{4}-\d{2}-\d{2}') THEN ['date', date, 'is no date']
        WHEN day < DATE '1900-01-01' OR day > DATE '2999-12-31' THEN ['date', date, 'is no date of a diary']
        WHEN first IS NULL OR day < first OR day > last THEN ['date', date, 'is outside the days its package covers']
        WHEN line IS NULL THEN ['line', '', 'is empty']
        WHEN from_kind IS NULL OR NOT list_contains($kinds, from_kind) THEN ['from_kind', from_kind, 'is no kind of account']
        WHEN to_kind IS NULL OR NOT list_contains($kinds, to_kind) THEN ['to_kind', to_kind, 'is no kind of account']
        WHEN stream IS NOT NULL AND NOT list_contains($streams, stream) THEN ['stream', stream, 'is no stream']
        WHEN matter IS NULL OR NOT list_contains($matters, matter) THEN ['matter', matter, 'is neither waste, castings nor other']
        WHEN (stream IS NULL) <> (matter = 'castings') THEN ['stream', stream, 'does not go with the matter']
        WHEN giver IS NOT NULL AND NOT list_contains(givers, unmarked(giver)) THEN ['giver', giver, 'is not among the givers its package names']
        WHEN counted IS NULL OR counted NOT IN ('-1', '0', '1') THEN ['counted', counted, 'is not -1, 0 or 1']
        WHEN counted <> '0' AND matter <> 'waste' THEN ['counted', counted, 'counts what is no waste']
        WHEN counted = '-1' AND to_kind <> 'landfill' THEN ['counted', counted, 'rejects what is not thrown out']
        WHEN counted = '1' AND from_kind NOT IN ('household', 'giver') THEN ['counted', counted, 'counts what does not arrive']
        WHEN inferred IS NULL OR inferred NOT IN ('true', 'false') THEN ['inferred', inferred, 'is neither true nor false']
        WHEN private IS NULL OR private NOT IN ('true', 'false') THEN ['private', private, 'is neither true nor false']
        WHEN mass IS NULL OR NOT isfinite(mass) THEN ['kg', kg, 'is no weight']
        WHEN mass < 0 OR mass > $most_kg THEN ['kg', kg, 'is no weight that a household can move']
        WHEN doubt IS NULL OR NOT isfinite(doubt) OR doubt < 0 THEN ['own_doubt_kg', own_doubt_kg, 'is no doubt']
        WHEN doubt > $most_doubt * mass + 1 THEN ['own_doubt_kg', own_doubt_kg, 'is larger than its weight allows']
        WHEN shared_doubt IS NOT NULL AND NOT regexp_full_match(shared_doubt,
            '((household|catalogue): [^=;]{1,200}=-?\d+(\.\d+)?(e-?\d+)?)(; (household|catalogue): [^=;]{1,200}=-?\d+(\.\d+)?(e-?\d+)?)*')
            THEN ['shared_doubt', shared_doubt, 'names no causes of doubt']
        WHEN shared_doubt IS NOT NULL AND $most_doubt * mass + 1 < list_max(
            [abs(try_cast(split_part(piece, '=', 2) AS DOUBLE)) FOR piece IN string_split(shared_doubt, '; ')]
        ) THEN ['shared_doubt', shared_doubt, 'is larger than its weight allows']
        WHEN how IS NULL OR NOT list_contains($manners, how) THEN ['how', how, 'is no manner of measuring']
        WHEN (matter = 'waste') <> (len(shares) = 5) OR len(shares) NOT IN (0, 5)
            THEN ['share_landfill', share_landfill, 'and the other shares do not go with the matter']
        WHEN len(list_filter(shares, lambda share: share IS NULL OR NOT isfinite(share) OR share < 0 OR share > 1)) > 0
            THEN ['share_landfill', share_landfill, 'or another share is none from 0 to 1']
        WHEN len(shares) = 5 AND abs(list_sum(shares) - 1) > 1e-6
            THEN ['share_landfill', share_landfill, 'and the other shares do not add to 1']
        WHEN list_max([length(cell) FOR cell IN
            [id, line, entry, verb, from_name, to_name, material, arrived_as, giver, same_weighing, written]]) > 500
            THEN ['id', id, 'has a cell of more than 500 letters in its row']
        ELSE list_value(
            'text',
            list_filter(
                [id, line, entry, verb, from_name, to_name, material, arrived_as, giver, same_weighing, written],
                lambda cell: regexp_matches(cell, '^[=+\-@\t\r\n＝＋－＠]')
            )[1],
            'begins like a formula'
        )
    END AS fault
    FROM seen
)
SELECT
    package, arg_min(place, place) - (SELECT min(place) FROM cells_as_text AS t WHERE t.package = judged.package) + 2,
    arg_min(fault[1], place), arg_min(coalesce(fault[2], ''), place), arg_min(fault[3], place)
FROM judged WHERE fault[1] <> 'text' OR fault[2] IS NOT NULL
GROUP BY package ORDER BY package;
