"""Make ``readaid/script/tables/eras.tsv`` from a list of eras with start and end Julian day numbers.

Input (first argument): the JSON of the open project sugi/ya-wareki-js (BSD-2-Clause): lists of
(name, Western year of year 1, first day, day after the last). Only the facts are carried over, as days of the
old calendar. Sounds are modified Hepburn, from memory, and were read against the list in `japanera` 2.1.
"""

import json
import sys
from pathlib import Path

from readaid.script import calendar

OUT = Path(__file__).resolve().parents[2] / "readaid" / "script" / "tables" / "eras.tsv"
HEADER = """\
# Eras from 645, the northern court's included. Days are old-calendar year-month-day to 1872 ("i" after a month: leap
# month) and Gregorian from 1873; last is the last day of the era; empty: still running.
# year: Western number of the old year that is the era's year 1. court: empty where one court ruled.
# Source of the facts: sugi/ya-wareki-js (BSD-2-Clause, Copyright (c) 2026 Tatsuki Sugiura), after manakai data-locale;
# Meiji's start as proclaimed (1868-09-08). Sounds and notes from memory. Made by data/make_tables/eras.py.
name\tsound\tyear\tcourt\tfirst\tlast\tnote
"""
SOUNDS = """
大化Taika 白雉Hakuchi 朱鳥Shuchō 大宝Taihō 慶雲Keiun 和銅Wadō 霊亀Reiki 養老Yōrō 神亀Jinki 天平Tenpyō
天平感宝Tenpyō-kanpō 天平勝宝Tenpyō-shōhō 天平宝字Tenpyō-hōji 天平神護Tenpyō-jingo 神護景雲Jingo-keiun 宝亀Hōki
天応Ten'ō 延暦Enryaku 大同Daidō 弘仁Kōnin 天長Tenchō 承和Jōwa 嘉祥Kashō 仁寿Ninju 斉衡Saikō 天安Ten'an 貞観Jōgan
元慶Gangyō 仁和Ninna 寛平Kanpyō 昌泰Shōtai 延喜Engi 延長Enchō 承平Jōhei 天慶Tengyō 天暦Tenryaku 天徳Tentoku 応和Ōwa
康保Kōhō 安和Anna 天禄Tenroku 天延Ten'en 貞元Jōgen 天元Tengen 永観Eikan 寛和Kanna 永延Eien 永祚Eiso 正暦Shōryaku
長徳Chōtoku 長保Chōhō 寛弘Kankō 長和Chōwa 寛仁Kannin 治安Jian 万寿Manju 長元Chōgen 長暦Chōryaku 長久Chōkyū 寛徳Kantoku
永承Eishō 天喜Tengi 康平Kōhei 治暦Jiryaku 延久Enkyū 承保Jōhō 承暦Jōryaku 永保Eihō 応徳Ōtoku 寛治Kanji 嘉保Kahō
永長Eichō 承徳Jōtoku 康和Kōwa 長治Chōji 嘉承Kajō 天仁Tennin 天永Ten'ei 永久Eikyū 元永Gen'ei 保安Hōan 天治Tenji
大治Daiji 天承Tenshō 長承Chōshō 保延Hōen 永治Eiji 康治Kōji 天養Ten'yō 久安Kyūan 仁平Ninpei 久寿Kyūju 保元Hōgen
平治Heiji 永暦Eiryaku 応保Ōhō 長寛Chōkan 永万Eiman 仁安Nin'an 嘉応Kaō 承安Jōan 安元Angen 治承Jishō 養和Yōwa 寿永Juei
元暦Genryaku 文治Bunji 建久Kenkyū 正治Shōji 建仁Kennin 元久Genkyū 建永Ken'ei 承元Jōgen 建暦Kenryaku 建保Kenpō
承久Jōkyū 貞応Jōō 元仁Gennin 嘉禄Karoku 安貞Antei 寛喜Kangi 貞永Jōei 天福Tenpuku 文暦Bunryaku 嘉禎Katei 暦仁Ryakunin
延応En'ō 仁治Ninji 寛元Kangen 宝治Hōji 建長Kenchō 康元Kōgen 正嘉Shōka 正元Shōgen 文応Bun'ō 弘長Kōchō 文永Bun'ei
建治Kenji 弘安Kōan 正応Shōō 永仁Einin 正安Shōan 乾元Kengen 嘉元Kagen 徳治Tokuji 延慶Enkyō 応長Ōchō 正和Shōwa 文保Bunpō
元応Gen'ō 元亨Genkō 正中Shōchū 嘉暦Karyaku 元徳Gentoku 元弘Genkō 正慶Shōkyō 建武Kenmu 延元Engen 興国Kōkoku 正平Shōhei
建徳Kentoku 文中Bunchū 天授Tenju 弘和Kōwa 元中Genchū 暦応Ryakuō 康永Kōei 貞和Jōwa 観応Kannō 文和Bunna 延文Enbun
康安Kōan 貞治Jōji 応安Ōan 永和Eiwa 康暦Kōryaku 永徳Eitoku 至徳Shitoku 嘉慶Kakyō 康応Kōō 明徳Meitoku 応永Ōei 正長Shōchō
永享Eikyō 嘉吉Kakitsu 文安Bun'an 宝徳Hōtoku 享徳Kyōtoku 康正Kōshō 長禄Chōroku 寛正Kanshō 文正Bunshō 応仁Ōnin
文明Bunmei 長享Chōkyō 延徳Entoku 明応Meiō 文亀Bunki 永正Eishō 大永Daiei 享禄Kyōroku 天文Tenbun 弘治Kōji 永禄Eiroku
元亀Genki 天正Tenshō 文禄Bunroku 慶長Keichō 元和Genna 寛永Kan'ei 正保Shōhō 慶安Keian 承応Jōō 明暦Meireki 万治Manji
寛文Kanbun 延宝Enpō 天和Tenna 貞享Jōkyō 元禄Genroku 宝永Hōei 正徳Shōtoku 享保Kyōhō 元文Genbun 寛保Kanpō 延享Enkyō
寛延Kan'en 宝暦Hōreki 明和Meiwa 安永An'ei 天明Tenmei 寛政Kansei 享和Kyōwa 文化Bunka 文政Bunsei 天保Tenpō 弘化Kōka
嘉永Kaei 安政Ansei 万延Man'en 文久Bunkyū 元治Genji 慶応Keiō 明治Meiji 大正Taishō 昭和Shōwa 平成Heisei 令和Reiwa
"""
SOUTHERN = ("元弘", "延元", "興国", "正平", "建徳", "文中", "天授", "弘和", "元中")
NORTHERN = ("正慶", "暦応", "康永", "貞和", "観応", "文和", "延文", "康安", "貞治", "応安", "永和", "康暦", "永徳",
            "至徳", "嘉慶", "康応", "明徳")
NOTES = {
    "元徳": "used by the northern court to this day; the southern court went over to 元弘 on 1331-8-9",
    "建徳": "southern court; other sources begin it on 1370-7-24",
    "文中": "southern court; the day is not sure, other sources begin it earlier in the month",
    "建武": "used by the northern court to this day; the southern court went over to 延元 on 1336-2-29",
    "明徳": "the northern court's era; the only one from the union of the courts in 1392-10i-5 on",
    "明治": "made to count from the first day of the year, so 明治元年正月 was written later for 慶応四年正月",
    "朱鳥": "no era was in use from then to 701",
    "白雉": "no era was in use from then to 686; its last day is not agreed (here the end of the year)",
}


def old_day(jd: int) -> str:
    if jd >= calendar.GREGORIAN_DAY:
        return calendar.iso(jd)
    day = calendar.from_jd(jd)
    return f"{day.year}-{day.month}{'i' if day.leap else ''}-{day.day}"


def main(source: str) -> None:
    lists = json.loads(Path(source).read_text(encoding="utf-8"))
    sounds = {"".join(c for c in w if ord(c) > 0x2E80): "".join(c for c in w if ord(c) < 0x2E80)
              for w in SOUNDS.split()}
    eras = {name: (year, first, after) for name, year, first, after in lists["eraDefs"]}
    eras |= {name: (year, first, after) for name, year, first, after in lists["eraNorthDefs"]}  # longer 元徳, 建武
    assert set(sounds) == set(eras), set(sounds) ^ set(eras)
    starts = {first for _, first, _ in eras.values()}
    rows = []
    for name, (year, first, after) in eras.items():
        if name == "明治":
            first = eras["慶応"][2]  # the source counts from the first day of the year
        # from Meiji on the source gives the last day itself
        last = after - 1 if after in starts or year < 1868 else after
        court = "southern" if name in SOUTHERN else "northern" if name in NORTHERN else ""
        rows.append((first, f"{name}\t{sounds[name]}\t{year}\t{court}\t{old_day(first)}\t"
                            f"{'' if name == '令和' else old_day(last)}\t{NOTES.get(name, '')}".rstrip("\t")))
    OUT.write_text(HEADER + "\n".join(r for _, r in sorted(rows)) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(*sys.argv[1:])
