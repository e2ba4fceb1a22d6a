from django.urls import URLPattern

app_name = "driveway"
urlpatterns: list[URLPattern] = []
