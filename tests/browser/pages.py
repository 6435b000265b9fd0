#!/usr/bin/env python3
"""Looks at pages of `report` as a person with a browser does.

Usage: pages.py FOLDER    with FOLDER/pages/*.html and FOLDER/node_modules
"""

import base64
import json
import pathlib
import re
import subprocess
import sys

from selenium import webdriver
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

folder = pathlib.Path(sys.argv[1])
failures = []


def check(is_good, what):
    if not is_good:
        failures.append(what)


def browser(width):
    options = webdriver.ChromeOptions()
    for word in ("--headless", "--no-sandbox", "--disable-gpu", f"--window-size={width},900"):
        options.add_argument(word)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    driver = webdriver.Chrome(options=options)
    driver.execute_cdp_cmd("Network.enable", {})
    driver.execute_cdp_cmd(
        "Network.emulateNetworkConditions",
        {"offline": True, "latency": 0, "downloadThroughput": 0, "uploadThroughput": 0},
    )
    return driver


def open_page(driver, page):
    driver.get_log("browser"), driver.get_log("performance")
    driver.get(page.as_uri())


def check_silence(driver, page):
    """No message, and no request but for the page itself."""
    messages = driver.get_log("browser")
    check(not messages, f"{page.name}: messages {messages}")
    for entry in driver.get_log("performance"):
        message = json.loads(entry["message"])["message"]
        if message["method"] == "Network.requestWillBeSent":
            url = message["params"]["request"]["url"]
            check(url.split("#")[0] == page.as_uri(), f"{page.name}: asks for {url[:80]}")


def check_states(driver, page):
    chosen = driver.find_elements(By.CSS_SELECTOR, "input[name=state]")
    if not chosen:
        return
    shown = "return [...document.querySelectorAll('svg .in-state:not(.off)')].map(g => g.dataset.state)"
    check(driver.execute_script(shown) == ["0"], f"{page.name}: the first state is shown")
    chosen[1].click()
    check(driver.execute_script(shown) == ["1"], f"{page.name}: a click shows another state")
    chosen[1].send_keys(Keys.ARROW_LEFT)
    check(driver.execute_script(shown) == ["0"], f"{page.name}: arrow keys choose a state")


def check_sorting(driver, page):
    button = driver.find_element(By.CSS_SELECTOR, "table.sortable td.figure, table.sortable")
    button = driver.find_elements(By.CSS_SELECTOR, "th.figure button")[-1]
    table = "arguments[0].closest('table')"
    values = (
        f"return [...{table}.tBodies[0].rows].map(r => r.cells[arguments[0].closest('th').cellIndex]"
        ".dataset.value).filter(v => v !== undefined).map(Number)"
    )
    button.send_keys(Keys.ENTER)
    up = driver.execute_script(values, button)
    check(up == sorted(up), f"{page.name}: Enter sorts a column")
    button.send_keys(Keys.SPACE)
    down = driver.execute_script(values, button)
    check(down == sorted(up, reverse=True), f"{page.name}: once more sorts it downwards")
    head = button.find_element(By.XPATH, "..")
    check(head.get_attribute("aria-sort") == "descending", f"{page.name}: the order is told")


def check_plot(driver, page):
    plots = driver.find_elements(By.CSS_SELECTOR, ".plot")
    if not plots:
        return
    plot = plots[0]
    read = driver.find_element(By.ID, plot.get_attribute("data-read"))
    check(plot.find_elements(By.TAG_NAME, "canvas"), f"{page.name}: there is a plot")
    first = read.text
    plot.send_keys(Keys.END)
    last = read.text
    check(first != last, f"{page.name}: keys read values off ({first} / {last})")
    ActionChains(driver).move_to_element_with_offset(plot, 0, 0).perform()
    check(read.text != last, f"{page.name}: the pointer reads values off")
    check(driver.execute_script("return getComputedStyle(document.querySelector('.drawn')).display") == "none",
          f"{page.name}: the drawing for print is not shown beside the plot")
    plot.send_keys("+"), plot.send_keys(Keys.ESCAPE)


def check_width(driver, page, width):
    wide = driver.execute_script("return document.documentElement.scrollWidth")
    check(wide <= driver.execute_script("return window.innerWidth"), f"{page.name}: {wide} px wide at {width}")


def check_scheme(driver, page):
    paper = "return getComputedStyle(document.body).backgroundColor"
    before = driver.execute_script(paper)
    driver.find_element(By.ID, "scheme").click()
    check(driver.execute_script(paper) != before, f"{page.name}: light and dark")


def check_axe(driver, page):
    driver.execute_script((folder / "node_modules/axe-core/axe.min.js").read_text())
    found = driver.execute_async_script(
        "const done = arguments[arguments.length - 1]; axe.run().then(r => done(r.violations))"
    )
    for violation in found:
        where = [node["target"] for node in violation["nodes"]][:3]
        check(False, f"{page.name}: axe {violation['id']}: {violation['help']} {where}")


def print_page(driver, page):
    pdf = driver.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True, "printBackground": False})
    data = base64.b64decode(pdf["data"])
    (folder / (page.stem + ".pdf")).write_bytes(data)
    check(data.startswith(b"%PDF"), f"{page.name}: prints")


def check_printed_tables(driver, page):
    """A table over pages repeats its head, and no heading or head ends a page.

    The page's own style and script stand, with tables at every distance from a page's foot.
    """
    driver.execute_script("document.querySelector('main table.sortable thead button').textContent = 'HEAD'")
    head = driver.find_element(By.CSS_SELECTOR, "main table.sortable thead").get_attribute("outerHTML")
    row = "<tr><th scope='row'>line<br>more</th><td>line</td></tr>"
    sections = [
        f"<section style='break-before: page'><p style='height: {200 + 3 * k}mm; margin: 0'>line</p></section>"
        f"<section><h2>TITLE</h2><div class='scroll'><table class='sortable'><caption>CAPTION</caption>"
        f"{head}<tbody>{row * 12}</tbody></table></div></section>"
        for k in range(24)
    ]
    driver.execute_script("document.querySelector('main').innerHTML = arguments[0]", "".join(sections))
    pdf = driver.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
    text = subprocess.run(["pdftotext", "-layout", "-", "-"], input=base64.b64decode(pdf["data"]),
                          capture_output=True, check=True).stdout.decode()
    pages = [[line.strip() for line in sheet.splitlines() if line.strip()] for sheet in text.split("\f")]
    tables = [sheet for sheet in pages if any(line.startswith("more") for line in sheet)]
    check(len(tables) >= 24, f"{page.name}: {len(tables)} printed pages have a table")
    for sheet in tables:
        check(any("HEAD" in line for line in sheet), f"{page.name}: printed without its head: {sheet[:3]}")
    for sheet in pages:
        check(not sheet or not re.match("TITLE|CAPTION|.*HEAD", sheet[-1]),
              f"{page.name}: printed at the foot of a page: {sheet[-3:]}")


def check_diagram_size(driver, page):
    """The diagram is as wide as the page, and one key shows it in its own size."""
    buttons = [b for b in driver.find_elements(By.ID, "full-size") if b.is_displayed()]
    if not buttons:
        return
    box = "const d = document.querySelector('.diagram'), s = d.parentElement;"
    scrolls = f"{box} return s.scrollWidth > s.clientWidth"
    check(not driver.execute_script(scrolls), f"{page.name}: the diagram is as wide as the page")
    buttons[0].send_keys(Keys.ENTER)
    check(driver.execute_script(scrolls), f"{page.name}: Enter shows the diagram in full size")
    own = "return Math.abs(d.getBoundingClientRect().width - d.viewBox.baseVal.width) < 1"
    check(driver.execute_script(box + own), f"{page.name}: in its own size")
    check(buttons[0].get_attribute("aria-pressed") == "true", f"{page.name}: the button tells it")
    buttons[0].send_keys(Keys.SPACE)
    check(not driver.execute_script(scrolls), f"{page.name}: once more fits it to the page")
    return True


def check_valid(pages):
    (folder / ".htmlvalidate.json").write_text(
        json.dumps({"extends": ["html-validate:standard"], "rules": {"no-inline-style": "off", "long-title": "off"}})
    )
    ran = subprocess.run(
        [folder / "node_modules/.bin/html-validate", "--config", folder / ".htmlvalidate.json", *pages],
        capture_output=True, text=True, cwd=folder, check=False,
    )
    check(ran.returncode == 0, "html-validate: " + ran.stdout[-3000:] + ran.stderr[-500:])


FLAWED = """<!DOCTYPE html><html><head><title>Flawed</title></head><body>
<div style="width: 3000px">wide</div><button></button><img src="http://127.0.0.1:9/none.png">
<script>console.error("loud")</script></body></html>"""


def check_the_checks(driver):
    """A page with a flaw of each sort must be complained of, or this test sees nothing."""
    page = folder / "flawed.html"
    page.write_text(FLAWED)
    before = len(failures)
    open_page(driver, page)
    for look in (lambda: check_width(driver, page, 1280), lambda: check_axe(driver, page),
                 lambda: check_silence(driver, page)):
        look()
    wanted = ("px wide", "axe", "messages", "asks for")
    missed = [word for word in wanted if not any(word in failure for failure in failures[before:])]
    del failures[before:]
    check(not missed, f"a flawed page has no complaint of {missed}")


def main():
    pages = sorted((folder / "pages").glob("*.html"))
    sized = 0
    check(len(pages) >= 4, "there are pages")
    for width in (1280, 360):
        driver = browser(width)
        driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride",
                               {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": False})
        if width == 1280:
            check_the_checks(driver)
        for page in pages:
            open_page(driver, page)
            check(driver.title != "taken", f"{page.name}: a text was obeyed")
            check_width(driver, page, width)
            driver.save_screenshot(str(folder / f"{page.stem}-{width}.png"))
            check_axe(driver, page)
            if width == 1280:
                check_states(driver, page)
                check_sorting(driver, page)
                check_plot(driver, page)
                sized += bool(check_diagram_size(driver, page))
                check_scheme(driver, page)
                check_axe(driver, page)
                print_page(driver, page)
            check_silence(driver, page)
        if width == 1280:
            check_printed_tables(driver, page)
        driver.quit()
    check(sized >= 1, "one diagram at least is wider than the page")
    check_valid(pages)
    for failure in failures:
        print("FAILED:", failure, file=sys.stderr)
    print(f"{len(pages)} pages, {len(failures)} failures")
    return 1 if failures else 0


sys.exit(main())
