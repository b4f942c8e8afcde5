-- The movements of the packages at hand as text, every cell as it stands.
CREATE OR REPLACE TEMP TABLE cells_as_text AS
SELECT row_number() OVER () AS place, p.package, t.* EXCLUDE (filename)
FROM read_csv(
    $files,
    auto_detect = false, header = true, all_varchar = true, strict_mode = true, null_padding = false,
    delim = ',', quote = '"', escape = '"', nullstr = '', encoding = 'utf-8',
    max_line_size = 65536, columns = $columns, filename = true
) AS t
JOIN at_hand AS p ON p.file = t.filename;
